"""The steps of a job in order: what each makes, what it must find, what is left unmade."""
