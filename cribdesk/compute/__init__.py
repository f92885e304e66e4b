"""Numbers in, numbers out: no records of the crib, only sequences and arrays."""
