// What a page is held to, asked inside it: press targets, contrast of text, what runs off the side.
() => {
  document.querySelectorAll("details").forEach((el) => { el.open = true; });
  const seen = (el) => el.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true });
  const hidden = (el) => el.closest(".apart, .skip, [aria-hidden=true]") !== null;
  const told = (el) => el.outerHTML.replace(/\s+/g, " ").slice(0, 110);

  // WCAG 2.5.8: a link inside a sentence is excepted; its size is the text's.
  const inText = (el) => {
    if (el.tagName !== "A" || getComputedStyle(el).display !== "inline") return false;
    const around = el.closest("p, dd, td, small") ?? el.parentElement;
    return around.textContent.trim().length > el.textContent.trim().length;
  };

  // WCAG 2.5.8: a target is excepted where another on the page does the same: zones on a plan stand in its list too.
  const listed = new Set([...document.querySelectorAll("a[href]")].filter((el) => !el.closest("svg")).map((el) => el.getAttribute("href")));
  const drawn = (el) => el.closest("svg") && (el.tagName.toLowerCase() !== "a" || listed.has(el.getAttribute("href")));

  const targets = [];
  for (const el of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")) {
    if (!seen(el) || hidden(el) || inText(el) || drawn(el)) continue;
    const box = (el.closest("label.choice") ?? el).getBoundingClientRect();
    const act = el.classList.contains("act");
    const row = el.matches(".schedule a");
    targets.push({ el, box, act, row, told: told(el) });
  }

  const small = [], close = [];
  for (const { el, box, act, told: words } of targets) {
    const least = act ? 60 : 48;
    if (box.width < 47.99 || box.height < least - 0.01) small.push(`${Math.round(box.width)}x${Math.round(box.height)} ${words}`);
  }
  // Rows of a list stand flush; a row of 56 px and more holds a 48 px target with 8 px to the next.
  const core = ({ box, row }) => (row && box.height >= 56 ? { ...edges(box), top: box.top + 4, bottom: box.bottom - 4 } : edges(box));
  function edges(box) { return { left: box.left, right: box.right, top: box.top, bottom: box.bottom }; }
  for (let i = 0; i < targets.length; i += 1) {
    for (let j = i + 1; j < targets.length; j += 1) {
      if (targets[i].el.contains(targets[j].el) || targets[j].el.contains(targets[i].el)) continue;
      const a = core(targets[i]), b = core(targets[j]);
      const apart = Math.max(b.left - a.right, a.left - b.right, b.top - a.bottom, a.top - b.bottom);
      if (apart < 7.99) close.push(`${apart.toFixed(1)} px: ${targets[i].told} | ${targets[j].told}`);
    }
  }

  // WCAG 2 relative luminance and contrast.
  const colour = (text) => { const n = text.match(/[\d.]+/g)?.map(Number) ?? [0, 0, 0, 0]; return { rgb: n.slice(0, 3), alpha: n[3] ?? 1 }; };
  const light = (rgb) => rgb.map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const contrast = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
  function ground(el) {
    for (let at = el; at; at = at.parentElement) {
      const { rgb, alpha } = colour(getComputedStyle(at).backgroundColor);
      if (alpha === 1) return rgb;
    }
    return [255, 255, 255];
  }
  const faint = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const el = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim() || !seen(el) || el.closest("script, style, noscript, .apart, .skip")) continue;
    const style = getComputedStyle(el), ink = el.closest("svg") ? style.fill : style.color;
    if (ink === "none") continue;
    const ratio = contrast(colour(ink).rgb, ground(el));
    if (ratio < 7 || Number(style.opacity) < 1) faint.push(`${ratio.toFixed(2)} ${told(el)}`);
  }
  return { small, close, faint, headings: document.querySelectorAll("h1").length, lang: document.documentElement.lang };
}
