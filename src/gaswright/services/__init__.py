"""Services: one use case each: load, compute, answer."""
