"""Parts of several jobs on one stock: planned each by its own job, made by one program."""
