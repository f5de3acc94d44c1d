"""What the records of several runs tell together: figures, drift, corrections, measurements."""
