"""The pages of the interview."""
