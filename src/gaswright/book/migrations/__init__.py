"""How the tables of the book came about; run from `upgrade`, never by hand."""
