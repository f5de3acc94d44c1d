"""The pen: moves become blocks, with whatever the control then holds.

A pen is put together of parts, each of which knows one thing: how a machine file spells numbers,
the blocks written and the words in force, where the machine stands, what turns and flows, and how
the dividing head stands. No part knows programs, parts of them or headers, which the writer
composes.
"""
