"""Whether work on the dividing head can be: teeth, stack, how the spindle lies."""
