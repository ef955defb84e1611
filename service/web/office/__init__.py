"""The office's pages: projects, people, rule sheet, orders, releases."""
