"""What a job file takes from elsewhere or says once for many places, joined before any check."""
