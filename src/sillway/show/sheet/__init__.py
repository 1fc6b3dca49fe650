"""Sheets: what is issued to somebody, as a page and as a tagged PDF."""
