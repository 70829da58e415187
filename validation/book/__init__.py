"""The validation book: runs the engine, and sets what it prints beside references that know nothing of it."""
