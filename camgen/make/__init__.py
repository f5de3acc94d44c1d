"""Making a job: the whole chain, and the files it leaves."""

from camgen.make.chain import Proved, ProvedSetup, Wish, proved_job

__all__ = ["Proved", "ProvedSetup", "Wish", "proved_job"]
