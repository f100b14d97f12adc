"""Free shapes out of sheet stock: nesting, lower bounds, and the order of cuts. Knows nothing of rigs."""
