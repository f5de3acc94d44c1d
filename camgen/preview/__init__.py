"""Pictures of what a program does, drawn from the motion read back from its text.

The drawing library is imported inside the functions that draw, never when the program starts.
"""
