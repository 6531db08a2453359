"""The setup sheet: one page to take to the machine."""
