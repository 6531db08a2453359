"""How a result is shown. Computes nothing that a reader could want as a number."""
