// Small pieces of pages made by scripts: text is always text, never markup.
export function make(tag, properties = {}, ...children) {
  const made = Object.assign(document.createElement(tag), properties);
  made.append(...children.filter((child) => child !== null && child !== undefined && child !== ""));
  return made;
}

const lang = document.documentElement.lang || "en";
const today = (date) => date.toDateString() === new Date().toDateString();

/** `10:42 AM`, with the day before it where it is not today's. */
export function since(at) {
  const date = new Date(at), time = date.toLocaleTimeString(lang, { hour: "numeric", minute: "2-digit" });
  return today(date) ? time : tr("{day}, {time}", { day: date.toLocaleDateString(lang, { day: "numeric", month: "short" }), time });
}

export function link(words, href, className = "") {
  return make("a", { className, href }, words);
}

export function press(words, act, className = "act plain") {
  return make("button", { type: "button", className, onclick: act }, words);
}
