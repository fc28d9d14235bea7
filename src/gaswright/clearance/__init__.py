"""Clearance: the gates between a team and its dive, and the permits without which paper prints nothing."""
