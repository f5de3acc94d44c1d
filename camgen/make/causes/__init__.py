"""Why a proof failed, in words of the job or machine file."""
