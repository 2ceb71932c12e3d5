"""Driver groups compared fairly, and what they cost."""
