"""Exchange: trip file, policy file and JSON answers."""
