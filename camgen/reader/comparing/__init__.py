"""Two readings compared: the motion they make, what they do besides, programs run as one."""
