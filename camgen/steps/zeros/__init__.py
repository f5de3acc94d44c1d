"""Steps that cut nothing: a zero is set by what stands there."""
