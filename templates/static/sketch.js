// The sketch: pan and zoom over the tile pyramid; zones, walls, marks and what is installed to scale, with tags
// that never pile up.
const INK = "#12161b", PAPER = "#ffffff";
const FINE_M = 0.0508; // a place is chosen to 2 in of ground or better
const UNSETTLED = ["open", "not sealed"];
const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
let viewer = null;

function fetchViewer(el) {
  const put = (tag, attributes) => new Promise((done, failed) => {
    const node = Object.assign(document.createElement(tag), attributes, { onload: done, onerror: failed });
    document.head.append(node);
  });
  viewer ??= Promise.all([
    put("link", { rel: "stylesheet", href: el.dataset.viewerLook }),
    put("script", { src: el.dataset.viewer }),
  ]).then(() => window.L);
  return viewer;
}

function tileLayer(L, el, bounds) {
  const [below, asked] = el.dataset.tiles.split("?"); // the query names the revision, so that tiles may be kept for ever
  const Tiles = L.TileLayer.extend({ getTileUrl: (c) => `${below}${-c.z}/${c.x}_${c.y}.webp${asked ? `?${asked}` : ""}` });
  return new Tiles("", {
    minNativeZoom: 1 - Number(el.dataset.levels), maxNativeZoom: 0, minZoom: -30, maxZoom: 30,
    bounds, noWrap: true, keepBuffer: 1, updateWhenIdle: true,
  }).on("tileload", ({ tile }) => { // tiles at the right and lower edge are smaller than the others
    tile.style.width = `${tile.naturalWidth}px`;
    tile.style.height = `${tile.naturalHeight}px`;
  });
}

function drawLines(L, map, rows, at) {
  const plain = { color: INK, weight: 3, fill: false, interactive: false, lineJoin: "miter" };
  const here = (points) => points.map(([x, y]) => at(x, y));
  for (const zone of rows.zones ?? []) {
    const ready = zone.kind === "ready";
    L.polygon(here(zone.ring), { ...plain, weight: ready ? 9 : 3, dashArray: zone.kind === "laying" ? "14 5 2 5" : null }).addTo(map);
    if (ready) L.polygon(here(zone.ring), { ...plain, color: PAPER, weight: 4 }).addTo(map);
  }
  for (const { line: [a, b, c, d] } of rows.grid ?? []) L.polyline([at(a, b), at(c, d)], { ...plain, weight: 1, dashArray: "18 4 4 4" }).addTo(map);
  for (const [a, b, c, d] of rows.walls ?? []) L.polyline([at(a, b), at(c, d)], { ...plain, weight: 7, lineCap: "butt" }).addTo(map);
}

// Seams below, then penetrations, then marks: what is pressed is what lies on top. Edges, readings and crosses keep
// their size on the screen and are drawn over the map with the tags.
function drawThings(L, group, { marks = [], pipes = [], seams = [] }, at, placing) {
  group.clearLayers();
  const add = (shape, { href }) => shape.on("click", () => { location.href = href; }).addTo(group);
  const press = (thing) => ({ color: INK, interactive: !placing && Boolean(thing.href) });
  const outline = (thing, look) => add(thing.ring ? L.polygon(thing.ring.map(([x, y]) => at(x, y)), look) : L.circle(at(...thing.at), { ...look, radius: thing.radius }), thing);
  for (const seam of seams) {
    const look = { ...press(seam), weight: seam.state === "at fault" ? 3 : 1.4, dashArray: seam.state === "not walked" ? "8 4 2 4" : null };
    add(L.polyline(seam.path.map(([x, y]) => at(x, y)), look), seam);
  }
  for (const pipe of pipes) outline(pipe, { ...press(pipe), weight: pipe.state === "sealed" ? 1.4 : 3, fillColor: PAPER, fillOpacity: 1 });
  for (const mark of marks) {
    if (mark.state === "withdrawn") continue;
    const sealed = mark.state === "sealed";
    outline(mark, { ...press(mark), weight: sealed ? 1.5 : 1, fillColor: sealed ? PAPER : INK, fillOpacity: 1 });
  }
}

// Rings round marks too small to see, and tags on leaders: drawn over the map, placed so that none covers another.
function tagger(el, map, at, rows) {
  const canvas = document.createElement("canvas");
  canvas.className = "labels";
  canvas.setAttribute("aria-hidden", "true");
  el.append(canvas);
  const pen = canvas.getContext("2d");
  const AWAY = [18, 32, 52].flatMap((r) => [[.8, -1], [-.8, -1], [.8, 1], [-.8, 1], [1.3, -.4], [-1.3, -.4]].map(([x, y]) => [x * r, y * r]));

  function size() {
    const dots = devicePixelRatio || 1, { x, y } = map.getSize();
    canvas.width = x * dots; canvas.height = y * dots;
    canvas.style.width = `${x}px`; canvas.style.height = `${y}px`;
    pen.setTransform(dots, 0, 0, dots, 0, 0);
    return [x, y];
  }

  // How far along (dx, dy) the mark's edge lies from its middle, so that a leader starts at the edge.
  function edge(mark, dx, dy) {
    if (!mark.ring) return mark.radius;
    let far = 0;
    mark.ring.forEach((p, i) => {
      const q = mark.ring[(i + 1) % mark.ring.length], ax = p[0] - mark.at[0], ay = p[1] - mark.at[1], ex = q[0] - p[0], ey = q[1] - p[1];
      const across = dx * ey - dy * ex, where = (ax * dy - ay * dx) / across;
      if (across && where >= 0 && where <= 1) far = Math.max(far, (ax * ey - ay * ex) / across * Math.hypot(dx, dy));
    });
    return far;
  }

  const reach = (mark) => (mark.ring ? Math.max(...mark.ring.map(([x, y]) => Math.hypot(x - mark.at[0], y - mark.at[1]))) : mark.radius);

  function spot(box, taken, [wide, tall]) {
    return box[0] > 2 && box[1] > 2 && box[2] < wide - 2 && box[3] < tall - 2
      && !taken.some((t) => box[0] < t[2] && box[2] > t[0] && box[1] < t[3] && box[3] > t[1]);
  }

  function tag({ mark, point, ringed }, scale, taken, view) {
    pen.font = `${mark.state === "sealed" ? 400 : 700} 16px "Atkinson Hyperlegible", system-ui, sans-serif`;
    const wide = pen.measureText(mark.tag).width + 6;
    for (const [dx, dy] of AWAY) {
      const far = Math.hypot(dx, dy), clear = (ringed || edge(mark, dx, dy) * scale) + 2;
      const start = [point.x + dx / far * clear, point.y + dy / far * clear], elbow = [start[0] + dx, start[1] + dy];
      const left = dx > 0 ? elbow[0] : elbow[0] - wide;
      const box = [left - 3, elbow[1] - 20, left + wide + 3, elbow[1] + 4];
      if (!spot(box, taken, view)) continue;
      taken.push(box);
      pen.lineWidth = 4; pen.strokeStyle = PAPER; pen.lineJoin = "round";
      pen.strokeText(mark.tag, left + 3, elbow[1] - 4);
      pen.fillStyle = INK; pen.fillText(mark.tag, left + 3, elbow[1] - 4);
      pen.lineWidth = 1.4; pen.strokeStyle = INK;
      pen.beginPath(); pen.moveTo(...start); pen.lineTo(...elbow); pen.lineTo(dx > 0 ? elbow[0] + wide : elbow[0] - wide, elbow[1]); pen.stroke();
      return;
    }
  }

  function word(text, { x, y }, px, weight = 700) {
    pen.font = `${weight} ${px}px "Atkinson Hyperlegible", system-ui, sans-serif`;
    pen.textAlign = "center"; pen.lineWidth = 5; pen.strokeStyle = PAPER; pen.lineJoin = "round"; pen.fillStyle = INK;
    pen.strokeText(text, x, y + px / 3); pen.fillText(text, x, y + px / 3);
    pen.textAlign = "start";
  }

  // The letters of zones where several are seen at once, and the labels of grid lines at their first end.
  function names(busy) {
    for (const { label, line: [x, y] } of rows.grid ?? []) word(label, seen([x, y]), 15);
    if ((rows.zones ?? []).length < 2 && busy) return;
    for (const { letter, ring } of rows.zones ?? []) {
      const xs = ring.map((p) => p[0]), ys = ring.map((p) => p[1]);
      word(letter, seen([(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2]), 24);
    }
  }

  const seen = ([x, y]) => map.latLngToContainerPoint(at(x, y));
  const stroke = (points, width, dash = []) => {
    pen.lineWidth = width; pen.strokeStyle = INK; pen.setLineDash(dash);
    pen.beginPath(); points.forEach(([x, y], i) => (i ? pen.lineTo(x, y) : pen.moveTo(x, y))); pen.stroke(); pen.setLineDash([]);
  };

  // A second thin line outside the zone's outline, at the left of the path: dashed while the edge is not sealed.
  function beside({ path, state }) {
    const points = path.map(seen), off = 9, closed = String(path[0]) === String(path.at(-1));
    const sides = points.slice(1).map((b, i) => { const a = points[i], far = Math.hypot(b.x - a.x, b.y - a.y) || 1; return [(b.y - a.y) / far, (a.x - b.x) / far]; });
    stroke(points.map(({ x, y }, i) => {
      const u = sides[i - 1] ?? (closed ? sides.at(-1) : sides[0]), v = sides[i] ?? (closed ? sides[0] : sides.at(-1));
      const mx = u[0] + v[0], my = u[1] + v[1], along = Math.max((mx * mx + my * my) / 2, .32);
      return [x + mx / along * off, y + my / along * off];
    }), 1.4, state === "sealed" ? [] : [6, 5]);
  }

  function readings(seam) {
    for (const [x, y, turn] of seam.readings) {
      const p = seen([x, y]), dx = -Math.sin(turn * Math.PI / 180) * 5, dy = Math.cos(turn * Math.PI / 180) * 5;
      stroke([[p.x - dx, p.y - dy], [p.x + dx, p.y + dy]], 1.4);
    }
  }

  function cross(pipe, scale) {
    const { x, y } = seen(pipe.at), arm = Math.max(reach(pipe) * scale * 1.3, 5), width = pipe.state === "sealed" ? 1.4 : 3;
    stroke([[x - arm, y], [x + arm, y]], width);
    stroke([[x, y - arm], [x, y + arm]], width);
  }

  // A seam's tag on its middle piece, where that is on the screen and free.
  function nameSeam(seam, taken, view) {
    const middle = Math.ceil(seam.path.length / 2), [a, b] = [seam.path[middle - 1], seam.path[middle]].map(seen);
    const wide = seam.tag.length * 4.5;
    for (const part of [.5, .36, .64, .22, .78]) {
      const x = a.x + (b.x - a.x) * part, y = a.y + (b.y - a.y) * part, box = [x - wide, y - 10, x + wide, y + 10];
      if (!spot(box, taken, view)) continue;
      taken.push(box);
      word(seam.tag, { x, y }, 15, 400);
      return;
    }
  }

  return function redraw({ marks = [], pipes = [], seams = [], edges = [] }) {
    const view = size(), scale = 2 ** map.getZoom(), taken = [];
    names(Boolean(marks.length || pipes.length || seams.length));
    edges.forEach(beside);
    seams.forEach(readings);
    for (const pipe of pipes) cross(pipe, scale);
    const placed = [...marks.filter((m) => m.state !== "withdrawn"), ...pipes.filter((p) => p.state !== "sealed").map((p) => ({ ...p, pipe: true }))]
      .map((mark) => ({ mark, point: seen(mark.at) }))
      .filter(({ point }) => point.x > -20 && point.y > -20 && point.x < view[0] + 20 && point.y < view[1] + 20);
    const few = placed.length <= 60;
    for (const one of placed) {
      one.wants = few || UNSETTLED.includes(one.mark.state);
      if (reach(one.mark) * scale < 2) {
        one.ringed = one.wants ? 7 : 3;
        if (!one.mark.pipe) {
          pen.lineWidth = 1.4; pen.strokeStyle = INK; pen.fillStyle = INK;
          pen.beginPath(); pen.arc(one.point.x, one.point.y, one.ringed, 0, 7); pen.stroke();
          if (one.wants) { pen.beginPath(); pen.arc(one.point.x, one.point.y, 1.4, 0, 7); pen.fill(); }
        }
      }
      if (one.wants) taken.push([one.point.x - 5, one.point.y - 5, one.point.x + 5, one.point.y + 5]);
    }
    placed.sort((a, b) => Number(UNSETTLED.includes(b.mark.state)) - Number(UNSETTLED.includes(a.mark.state)) || Number(Boolean(a.mark.pipe)) - Number(Boolean(b.mark.pipe)));
    for (const one of placed) if (one.wants) tag(one, scale, taken, view);
    for (const seam of seams) nameSeam(seam, taken, view);
  };
}

function tools(L, el, map, whole) {
  const box = document.createElement("div");
  box.className = "sketch-tools";
  const button = (text, label, press) => {
    const made = Object.assign(document.createElement("button"), { type: "button", textContent: text, onclick: press });
    made.setAttribute("aria-label", label);
    box.append(made);
  };
  button("+", tr("closer"), () => map.zoomIn(1));
  button("−", tr("further out"), () => map.zoomOut(1));
  button(trc("sketch", "all"), tr("show all"), whole);
  box.lastChild.className = "words";
  L.DomEvent.disableClickPropagation(box);
  el.append(box);
}

async function open(el) {
  const L = await fetchViewer(el), d = el.dataset;
  const at = (x, y) => L.latLng(-y, x), pxPerM = Number(d.pxPerM) || 0;
  const bounds = L.latLngBounds(at(0, Number(d.height)), at(Number(d.width), 0));
  const fine = pxPerM ? Math.log2(1 / (FINE_M * pxPerM)) : 0;
  const map = L.map(el, {
    crs: L.CRS.Simple, zoomSnap: 0, attributionControl: false, zoomControl: false, preferCanvas: true, renderer: L.canvas({ tolerance: 12 }),
    maxZoom: Math.max(2, Math.ceil(fine) + 3), minZoom: -30, zoomAnimation: !still, inertia: !still, doubleClickZoom: !d.place,
    wheelPxPerZoomLevel: 120, maxBounds: bounds.pad(0.5), keyboardPanDelta: 40,
  });
  const ring = JSON.parse(d.zone || "[]");
  const home = ring.length ? L.latLngBounds(ring.map(([x, y]) => at(x, y))) : bounds;
  const room = { paddingTopLeft: [18, 18], paddingBottomRight: [18, 74] }; // the tools stand below
  const whole = () => map.fitBounds(home, { ...room, animate: !still });
  map.fitBounds(home, { ...room, animate: false });
  map.setMinZoom(Math.min(map.getZoom(), map.getBoundsZoom(bounds)) - 0.5);
  tileLayer(L, el, bounds).addTo(map);
  const rows = JSON.parse(el.querySelector("[data-rows]")?.textContent || "{}");
  let things = rows;
  drawLines(L, map, rows, at);
  const group = L.layerGroup().addTo(map), tags = tagger(el, map, at, rows);
  const redraw = () => tags(things);
  const take = (fresh) => { things = fresh; drawThings(L, group, things, at, d.place); redraw(); };
  map.on("move zoom viewreset resize", redraw);
  map.on("zoomanim", () => el.querySelector(".labels").getContext("2d").clearRect(0, 0, 9999, 9999));
  take(things);
  document.fonts?.ready.then(redraw);
  tools(L, el, map, whole);
  if (d.marksUrl) fetch(d.marksUrl, { headers: { Accept: "application/json" } }).then((r) => r.ok && r.json()).then((fresh) => fresh && take(fresh)).catch(() => {});
  el.sketch = { L, map, at, pxPerM, fine, toPx: (place) => [place.lng, -place.lat] };
  el.dispatchEvent(new CustomEvent("sketch-ready", { bubbles: true }));
}

const near = new IntersectionObserver((seen) => {
  for (const { isIntersecting, target } of seen) {
    if (!isIntersecting) continue;
    near.unobserve(target);
    open(target).catch(() => { target.classList.add("off"); target.append(tr("The sketch could not be loaded. Check the signal and load the page again.")); });
  }
}, { rootMargin: "200px" });
document.querySelectorAll(".sketch[data-tiles]").forEach((el) => near.observe(el));
