"""What one bank is and does: what the stage `storage` is made of."""
