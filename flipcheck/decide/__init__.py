"""What the sums mean for the person: verdicts, comparisons."""
