"""Signing in, one's account, links and codes that open a page, languages, being told."""
