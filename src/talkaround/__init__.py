"""Turns a technician's spoken or typed walkaround note into a repair order, each line tied to its words."""
