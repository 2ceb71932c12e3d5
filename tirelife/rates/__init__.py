"""The fit: wear rates of tires, vehicles, tire lines and groups."""
