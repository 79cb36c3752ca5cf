"""The pages, a file for each thing that a person does; every one works without a script."""

from talkaround.desk.pages import common

__all__ = ["common"]
