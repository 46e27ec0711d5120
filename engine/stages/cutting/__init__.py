"""What is bought, and the conductors cut from reels: what the stage `bill` is made of."""
