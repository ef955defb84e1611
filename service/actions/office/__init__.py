"""What a project manager decides: the project, its rule sheet, numbers, orders, releases, ready lists."""
