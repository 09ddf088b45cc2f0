"""The Questions pages: item models, wrong ideas, papers."""
