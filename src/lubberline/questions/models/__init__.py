"""The item models, a module for each topic; each has its models in `MODELS`."""
