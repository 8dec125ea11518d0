"""From a blend, a press and a part to one honest page: what to do, and how sure it is."""

__version__ = "0.1.0"
