"""Oxygen: CNS clock and oxygen tolerance units."""
