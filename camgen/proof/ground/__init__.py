"""What proofs of every wing look at, reckoned from motion: cuts from above, the plan, pairs."""
