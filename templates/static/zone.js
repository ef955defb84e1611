// The size of a zone while its corners are pressed: shown only; the server works it out for itself.
const SQ_FT = 0.3048 ** 2;

function area(m2, units) {
  const amount = units === "us" ? m2 / SQ_FT : m2, unit = units === "us" ? trc("unit", "sq ft") : "m²";
  return `${amount >= 100 ? Math.round(amount).toLocaleString("en-US") : amount.toFixed(1)} ${unit}`;
}

function round(m, units) {
  return units === "us" ? trn("{n} ft", "{n} ft", Math.round(m / 0.3048)) : `${m.toFixed(1)} m`;
}

function size(ring) {
  let twice = 0, far = 0;
  ring.forEach(([x, y], i) => {
    const [p, q] = ring[(i + 1) % ring.length];
    twice += x * q - y * p;
    far += Math.hypot(p - x, q - y);
  });
  return [Math.abs(twice) / 2, far];
}

// True where two sides that do not meet at a corner cross: the server refuses such a zone.
function crosses(ring) {
  const turn = (a, b, c) => Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
  const n = ring.length;
  for (let i = 0; i < n; i++) {
    for (let j = i + 2; j < n; j++) {
      if (i === 0 && j === n - 1) continue;
      const [a, b, c, d] = [ring[i], ring[i + 1], ring[j], ring[(j + 1) % n]];
      if (turn(a, b, c) !== turn(a, b, d) && turn(c, d, a) !== turn(c, d, b)) return true;
    }
  }
  return false;
}

document.querySelectorAll("[data-size]").forEach((told) => {
  const form = told.closest("form"), plan = form.querySelector(".sketch[data-place=ring]");
  const perM = Number(plan.dataset.pxPerM), units = plan.dataset.units;
  const tell = () => {
    let ring = [];
    try { ring = JSON.parse(form.elements.namedItem("outline").value || "[]"); } catch { /* not corners yet */ }
    if (ring.length < 3 || !perM) { told.textContent = told.dataset.few; return; }
    if (crosses(ring)) { told.textContent = tr("The zone's outline crosses or touches itself."); return; }
    const [px2, px] = size(ring);
    told.textContent = tr("{area}, {length} round", { area: area(px2 / perM ** 2, units), length: round(px / perM, units) });
  };
  form.addEventListener("input", tell);
  form.addEventListener("typed-back", tell);
  tell();
});
