"""Runs at the machine: from a job to its record, and what records say of cutters."""
