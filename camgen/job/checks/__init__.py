"""Whether a job can be: sizes against one another, stock, holding, cutters, machine."""
