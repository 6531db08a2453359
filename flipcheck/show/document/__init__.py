"""A document, whatever is in it: plain records that become HTML or PDF."""
