"""Where things hang and how data cables run: what the stages `wall` and `chain` are made of."""
