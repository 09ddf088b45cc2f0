"""Sittings: a paper taken on phones or on paper, its marks and its corrections."""
