"""Plans of moves, and the set life they buy."""
