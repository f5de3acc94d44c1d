"""What a cutter leaves of a wheel, bought ones too, what gauges read on it, and what that tells."""
