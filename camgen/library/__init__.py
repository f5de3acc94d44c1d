"""Proven jobs: what came out right at the machine, kept beside the job, and what has changed."""
