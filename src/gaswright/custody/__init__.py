"""Custody: the facts about cylinders and people, and the fold that tells the standing of each."""
