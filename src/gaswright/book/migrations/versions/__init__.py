"""One file per schema, never changed once released."""
