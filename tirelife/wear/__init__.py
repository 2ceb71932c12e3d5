"""Contact-patch energy, position by position, and what each cause takes."""
