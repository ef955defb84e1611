// A button that prints the page. Without scripts the browser's own menu does.
document.querySelectorAll("[data-print]").forEach((button) => button.addEventListener("click", () => print()));
