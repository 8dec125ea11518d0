"""The job in order: each stage answers one step on arrays of samples, with a margin per limit."""
