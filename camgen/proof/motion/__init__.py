"""Is the motion read back the motion that was planned, within what the machine and hands bear?"""
