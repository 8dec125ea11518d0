"""The command line: parse, call, print; one file a command."""

__all__: list[str] = []
