"""One file per phenomenon: pure functions of SI floats or arrays."""
