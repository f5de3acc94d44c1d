"""Reads program text as a control would, knowing only the machine file."""

from camgen.reader.program import read_program

__all__ = ["read_program"]
