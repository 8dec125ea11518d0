"""Job files, cards and tables: read, checked, and complained about helpfully."""
