"""The recipe as a document: its schema, its reader, its faults."""
