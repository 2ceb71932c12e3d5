"""The customer's page."""
