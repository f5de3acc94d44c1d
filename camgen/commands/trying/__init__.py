"""Programs that a machine file is tried with before it is trusted."""
