"""How long a run takes: the motion on a machine that must accelerate, and the account of it."""
