"""Pages and JSON, all made from the same result objects."""

__all__: list[str] = []
