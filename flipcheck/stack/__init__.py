"""How errors add up. Knows nothing of flips: a published tolerance stack runs through it unchanged."""
