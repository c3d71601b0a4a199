// A picture answers a pointer, and the arrow keys once it has the focus, with the value that is nearest: what stands in
// its attributes (drawings/read.py). The words and the ring lie over the picture, which itself is not changed.
function reader(root, box) {
  const tip = document.createElement("div"), ring = document.createElement("div");
  tip.className = "desalbook db-tip";
  tip.setAttribute("role", "status");
  ring.className = "desalbook db-ring";
  tip.hidden = ring.hidden = true;
  root.style.position = "relative";
  root.append(ring, tip);
  const near = 28;  // px
  const known = new WeakMap();  // what a picture holds, in its own places; it is made anew with the picture
  let at = null, soon = 0;

  const numbers = (text) => (text.match(/-?\d*\.?\d+(?:e-?\d+)?/gi) ?? []).map(Number);
  function items(svg) {
    if (known.has(svg)) return known.get(svg);
    const all = [];
    for (const e of svg.querySelectorAll("[data-read], [data-xs]")) {
      if (e.dataset.read !== undefined) { all.push({ e, words: e.dataset.read, series: e, n: 0 }); continue; }
      const places = numbers(e.getAttribute("d") ?? e.getAttribute("points")), xs = e.dataset.xs.split(";");
      const [x, xUnit, y, yUnit] = e.dataset.axes.split("|"), ys = e.dataset.ys.split(";");
      const said = (name, value, unit) => `${name} ${value}${unit ? `\u00a0${unit}` : ""}`;
      xs.forEach((value, n) => all.push({
        e, series: e, n, last: n === xs.length - 1, place: [places[2 * n], places[2 * n + 1]],
        words: `${e.dataset.name ? `${e.dataset.name}: ` : ""}${said(y, ys[n], yUnit)} at ${said(x, value, xUnit)}` }));
    }
    known.set(svg, all);
    return all;
  }

  // where an item lies on the screen: a point of a curve, or the box of a mark
  const spot = (item) => {
    if (item.place === undefined) return item.e.getBoundingClientRect();
    const p = new DOMPoint(...item.place).matrixTransform(item.e.getScreenCTM());
    return new DOMRect(p.x, p.y, 0, 0);
  };
  const toBox = (r, x, y) => Math.hypot(Math.max(r.left - x, 0, x - r.right), Math.max(r.top - y, 0, y - r.bottom));
  function toLine(a, b, x, y) {
    const [dx, dy] = [b.x - a.x, b.y - a.y], long = dx * dx + dy * dy;
    const t = long ? Math.min(Math.max(((x - a.x) * dx + (y - a.y) * dy) / long, 0), 1) : 0;
    return [Math.hypot(a.x + t * dx - x, a.y + t * dy - y), t];
  }

  function nearest(svg, x, y) {
    let best = null, least = near;
    const all = items(svg), spots = all.map(spot);
    all.forEach((item, n) => {
      let far = toBox(spots[n], x, y), one = item;
      if (item.place !== undefined && !item.last) {
        const [off, t] = toLine(spots[n], spots[n + 1], x, y);
        if (off < far) { far = off + 0.01; one = t > 0.5 ? all[n + 1] : item; }
      }
      // of marks that lie on one another the smaller one is meant, and a point of a curve before any
      const small = item.place === undefined ? Math.min(0.4, 1e-6 * spots[n].width * spots[n].height) + 0.05 : 0;
      if (far + small <= least) { least = far + small; best = one; }  // of equal ones that on top
    });
    return best;
  }

  function show(item) {
    at = item;
    if (item === null) { tip.hidden = ring.hidden = true; return; }
    const r = spot(item), home = root.getBoundingClientRect();
    const point = item.place !== undefined, wide = point ? 11 : r.width + 4, high = point ? 11 : r.height + 4;
    ring.hidden = tip.hidden = false;
    ring.classList.toggle("point", point);
    Object.assign(ring.style, { left: `${r.left + r.width / 2 - home.left - wide / 2}px`, width: `${wide}px`,
                                top: `${r.top + r.height / 2 - home.top - high / 2}px`, height: `${high}px` });
    if (tip.textContent !== item.words) tip.textContent = item.words;
    tip.style.left = "0px";  // as wide as it would be
    const left = Math.min(Math.max(r.left + Math.min(r.width / 2, 120) - home.left - tip.offsetWidth / 2, 0),
                          Math.max(home.width - tip.offsetWidth, 0));
    const over = r.top - home.top - tip.offsetHeight - 10;
    tip.style.left = `${left}px`;
    tip.style.top = `${over > 0 ? over : r.bottom - home.top + 10}px`;
  }

  const picture = (target) => {
    const svg = target.closest?.("svg");
    return svg && svg.closest("figure, .db-pictures, .db-tab, .db-study") && items(svg).length ? svg : null;
  };
  box.addEventListener("pointermove", (event) => {
    const svg = picture(event.target);
    cancelAnimationFrame(soon);
    soon = requestAnimationFrame(() => show(svg ? nearest(svg, event.clientX, event.clientY) : null));
  });
  box.addEventListener("pointerleave", () => { cancelAnimationFrame(soon); show(null); });
  box.addEventListener("focusin", (event) => {
    if (event.target.matches("svg:focus-visible") && picture(event.target)) show(items(event.target)[0]);
  });
  box.addEventListener("focusout", () => show(null));
  box.addEventListener("keydown", (event) => {
    const svg = event.target.matches("svg") ? picture(event.target) : null;
    if (!svg) return;
    const all = items(svg), now = Math.max(all.findIndex((i) => i === at), 0);
    const heads = all.map((item, n) => (item.n === 0 ? n : -1)).filter((n) => n >= 0);
    const of = heads.findLastIndex((n) => n <= now);
    const jump = (k) => {  // the same place of another series
      const head = heads[Math.min(Math.max(of + k, 0), heads.length - 1)];
      const end = heads[heads.indexOf(head) + 1] ?? all.length;
      return Math.min(head + all[now].n, end - 1);
    };
    const to = { ArrowRight: now + 1, ArrowLeft: now - 1, ArrowDown: jump(1), ArrowUp: jump(-1), Home: 0,
                 End: all.length - 1 }[event.key];
    if (to !== undefined) {
      event.preventDefault();
      show(all[Math.min(Math.max(to, 0), all.length - 1)]);
    } else if (event.key === "Escape" && at) {
      event.preventDefault();
      show(null);
    }
  });
  return () => { if (at !== null && !at.e.isConnected) show(null); };  // the picture was drawn anew
}
