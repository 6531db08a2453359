"""Blanks held with play: where on its pins, or between its walls, a blank comes to lie."""
