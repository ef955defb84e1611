// The sheets dragged across the placing direction: what it costs comes from the service, a few times a second at most.
const WAIT = 250, MM = 1_000_000;

class Mover {
  constructor(svg, box) {
    Object.assign(this, { svg, box, at: Number(svg.dataset.at), pitch: Number(svg.dataset.pitch), grain: Number(svg.dataset.grain) });
    this.across = svg.dataset.across.split(",").map(Number); // drawing units that the sheets move for a metre more
    this.keep = document.querySelector("form [name=seen_as]")?.form;
    svg.classList.toggle("down", Math.abs(this.across[1]) > Math.abs(this.across[0]));
    box.querySelectorAll("[data-by]").forEach((button) => button.addEventListener("click", () => this.move(this.at + Number(button.dataset.by))));
    svg.addEventListener("pointerdown", (event) => this.drag(event));
    svg.tabIndex = 0;
    svg.addEventListener("keydown", (event) => this.key(event));
  }

  /** Whole grains, and one roll less its lap further on everything lies as before. */
  move(nm) {
    const whole = Math.round(nm / this.grain) * this.grain;
    this.at = ((whole % this.pitch) + this.pitch) % this.pitch;
    this.ask();
  }

  key(event) {
    const [x, y] = this.across, along = Math.abs(x) > Math.abs(y) ? ["ArrowLeft", "ArrowRight", x] : ["ArrowUp", "ArrowDown", y];
    const by = Number(this.box.querySelectorAll("[data-by]")[event.shiftKey ? 3 : 2].dataset.by);
    const way = event.key === along[1] ? Math.sign(along[2]) : event.key === along[0] ? -Math.sign(along[2]) : 0;
    if (!way) return;
    event.preventDefault();
    this.move(this.at + way * by);
  }

  drag(event) {
    if (!event.isPrimary || event.button) return;
    const unit = this.svg.viewBox.baseVal.width / this.svg.getBoundingClientRect().width, [x, y] = this.across, long = x * x + y * y;
    const from = this.at, start = [event.clientX, event.clientY];
    const moved = (e) => {
      const far = ((e.clientX - start[0]) * x + (e.clientY - start[1]) * y) * unit / long; // metres
      if (Math.abs(far) < 0.01) return;
      this.svg.classList.add("moving");
      this.move(from + far * 1e9);
    };
    const done = () => { removeEventListener("pointermove", moved); this.svg.classList.remove("moving"); };
    addEventListener("pointermove", moved);
    for (const end of ["pointerup", "pointercancel"]) addEventListener(end, done, { once: true });
  }

  /** One request at a time; while it is out, only the newest place waits. */
  async ask() {
    if (this.busy) { this.again = true; return; }
    this.busy = true;
    this.box.querySelector(".told-cost").dataset.busy = "";
    const began = Date.now();
    try {
      const answer = await fetch(`${this.svg.dataset.cost}${encodeURIComponent(`${this.at / MM} mm`)}`, { headers: { Accept: "application/json" } });
      const told = await answer.json();
      if (answer.ok) this.show(told);
      else this.say("told", told.told ?? "");
    } catch { this.say("told", tr("No signal: the sheets are as they were drawn last.")); }
    await new Promise((resolve) => { setTimeout(resolve, Math.max(0, WAIT - (Date.now() - began))); });
    this.busy = false;
    if (this.again) { this.again = false; this.ask(); return; }
    delete this.box.querySelector(".told-cost").dataset.busy;
  }

  say(name, words) { this.box.querySelector(`[data-${name}]`).textContent = words; }

  show(told) {
    for (const name of ["film", "sheets", "seams", "told", "offset"]) this.say(name, told[name]);
    for (const path of this.svg.querySelectorAll("[data-path]")) path.setAttribute("d", told.paths[path.dataset.path] ?? "");
    const numbers = this.svg.querySelector("[data-numbers]"), [first] = numbers.children;
    if (first) {
      numbers.replaceChildren(...told.numbers.map(([text, x, y]) => {
        const one = first.cloneNode();
        one.setAttribute("x", x);
        one.setAttribute("y", y);
        one.textContent = text;
        return one;
      }));
    }
    [...document.querySelectorAll(".facts dd")].forEach((dd, i) => {
      const [words, small] = told.facts[i];
      dd.firstChild.textContent = `${words} `;
      dd.querySelector("small").textContent = small;
    });
    for (const still of document.querySelectorAll("[data-still]")) still.hidden = true; // of the sheets before they moved
    if (!this.keep) return; // whoever only reads
    this.keep.elements.namedItem("offset").value = told.offset;
    this.keep.elements.namedItem("seen_as").value = told.seen_as;
  }
}

const svg = document.querySelector("svg[data-cost]");
if (svg) new Mover(svg, document.querySelector("[data-mover]"));
