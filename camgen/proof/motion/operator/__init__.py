"""What the person at the machine is told and does: stops, hands, messages, comments."""
