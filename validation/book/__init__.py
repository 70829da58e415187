"""The validation book: runs the engine, and compares its results with independent references."""
