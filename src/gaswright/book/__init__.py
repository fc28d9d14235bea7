"""Facts at rest: the append-only, hash-chained book, its merge, its backup and its proof."""
