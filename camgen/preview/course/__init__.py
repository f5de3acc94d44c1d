"""The course of a program in time: the cutter's track, metal taken away, depth, feed and force."""
