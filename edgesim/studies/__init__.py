"""Studies: many members, and later many designs, of one scenario."""
