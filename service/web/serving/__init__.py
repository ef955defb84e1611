"""What stands round every page: middleware, static files, templates, errors, who is signed in."""
