"""Making a job: the whole chain, and the files it leaves."""
