"""Long work of this wing, and what it registers with the platform."""
