"""The live class: joining, answering on phones, the projector, the instructor's own view."""
