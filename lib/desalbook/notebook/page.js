// A piece of page made by the kernel. An element with data-ask is a question to the kernel; one with
// data-download hands over the picture beside it as a file that stands alone.
function standalone(svg, title) {
  const paper = document.createElement("div"), shown = getComputedStyle(svg), around = svg.parentElement;
  paper.className = "desalbook db-paper";  // the values of the light theme, whatever is on the screen
  around.append(paper);
  const ink = getComputedStyle(paper), copy = svg.cloneNode(true);
  const value = (name) => ink.getPropertyValue(name).trim() || "#000";
  const make = (tag, attributes, text = "") => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [key, said] of Object.entries(attributes)) made.setAttribute(key, said);
    made.textContent = text;
    return made;
  };
  const [what, of = ""] = title.split(" · ");
  const [x, y, wide, high] = svg.getAttribute("viewBox").split(/[ ,]+/).map(Number);
  const rules = [...around.querySelectorAll(":scope > style")].map((s) => s.textContent).join("\n");
  copy.setAttribute("class", around.className);
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("viewBox", `${x} ${y - 50} ${wide} ${high + 58}`);
  copy.setAttribute("width", wide);
  copy.setAttribute("height", high + 58);
  copy.setAttribute("style", `color:${value("--db-text")};font-size:${svg.dataset.size || 12}px;`
    + `font-family:${shown.fontFamily.replaceAll('"', "'")}`);
  copy.prepend(
    make("style", {}, rules),
    make("rect", { x, y: y - 50, width: wide, height: high + 58, fill: value("--db-ground") }),
    make("text", { x: x + 8, y: y - 30, fill: value("--db-text"), style: "font-size:14px;font-weight:600" }, what),
    make("text", { x: x + 8, y: y - 12, fill: value("--db-text"), style: "font-size:12px" }, of));
  for (const one of copy.querySelectorAll("[data-read]")) one.prepend(make("title", {}, one.dataset.read));
  const text = new XMLSerializer().serializeToString(copy)
    .replace(/var\((--[a-z0-9-]+)(?:,[^()]*(?:\([^()]*\))?)?\)/g, (_, name) => value(name));
  paper.remove();
  return text;
}

const mark = (e) => e.dataset.ask ?? e.dataset.download ?? e.dataset.key ?? e.textContent;

// What is the same stays in the page as it is: style sheets above all, for a new one styles the whole page anew.
function settle(here, fresh) {
  const old = [...here.childNodes], some = [...fresh.childNodes];
  some.forEach((node, i) => {
    const was = old[i];
    if (was === undefined) here.append(node);
    else if (was.isEqualNode(node)) return;
    else if (was.nodeType === 1 && was.cloneNode(false).isEqualNode(node.cloneNode(false))) settle(was, node);
    else was.replaceWith(node);
  });
  for (const gone of old.slice(some.length)) gone.remove();
}

// A table whose heads sort it and whose rows are filtered: both hold while new values come in.
function number(text) {
  const plain = text.replace(/[\u2009\u00a0\s]/g, "").replace("\u2212", "-");
  return /^-?\d/.test(plain) ? parseFloat(plain) : NaN;
}

function arrange(box, state) {
  const table = box.querySelector("[data-sort]")?.closest("table");
  if (!table) return;
  const [head, ...rows] = table.rows;
  const name = `${table.parentElement.getAttribute("aria-label")} ${head.cells.length}`;  // units may be others
  if (state.name !== name) Object.assign(state, { name, column: -1, down: false });
  [...head.cells].forEach((cell, i) => {
    if (i === state.column) cell.setAttribute("aria-sort", state.down ? "descending" : "ascending");
    else cell.removeAttribute("aria-sort");
  });
  if (state.column >= 0) {
    const key = (row) => row.cells[state.column]?.textContent ?? "";
    const sign = state.down ? -1 : 1;
    rows.sort((a, b) => {
      const [x, y] = [number(key(a)), number(key(b))];
      if (Number.isNaN(x) !== Number.isNaN(y)) return Number.isNaN(x) ? 1 : -1;  // what is not there stands last
      return sign * (Number.isNaN(x) ? key(a).localeCompare(key(b)) : x - y);
    });
    head.parentElement.append(...rows);
  }
  const wanted = (box.querySelector("[data-filter]")?.value ?? "").trim().toLowerCase().split(/\s+/);
  for (const row of rows) row.hidden = !wanted.every((w) => row.textContent.toLowerCase().includes(w));
}

function render({ model, el }) {
  const sorted = { name: "", column: -1, down: false };
  const box = document.createElement("div");
  box.style.display = "flow-root";  // margins count
  el.append(box);
  const settled = reader(el, box);
  let high = 0;  // as it was last laid out; asking for it here would lay out the page in between
  const refresh = () => {
    const open = new Set([...box.querySelectorAll("details[open][data-key]")].map((d) => d.dataset.key));
    const held = box.contains(document.activeElement) ? mark(document.activeElement) : null;
    const tall = box.querySelector(".water-line") !== null && !box.dataset.drawing ? high : 0;
    const made = document.createElement("template");
    made.innerHTML = model.get("html");
    settle(box, made.content);
    box.style.minHeight = tall > 0 ? `${tall}px` : "";  // a picture with fewer words does not pull up what stands below
    arrange(box, sorted);
    settled();
    for (const d of box.querySelectorAll("details[data-key]")) if (open.has(d.dataset.key)) d.open = true;
    if (held !== null && !box.contains(document.activeElement)) {  // what had the focus is made anew, or gone: then the first that can be asked has it
      const some = [...box.querySelectorAll("button, summary, [tabindex]")];
      (some.find((e) => mark(e) === held) ?? some[0])?.focus({ preventScroll: true });
    }
  };
  box.addEventListener("click", (event) => {
    const ask = event.target.closest("[data-ask]");
    if (ask) model.send(JSON.parse(ask.dataset.ask));
    const by = event.target.closest("[data-sort]");
    if (by) {
      const column = by.closest("th").cellIndex;
      Object.assign(sorted, { down: sorted.column === column && !sorted.down, column });
      arrange(box, sorted);
    }
    const load = event.target.closest("[data-download]");
    const svg = load?.closest("figure")?.querySelector("svg");
    if (!svg) return;
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([standalone(svg, load.dataset.title ?? "")], { type: "image/svg+xml" }));
    link.download = load.dataset.download;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  });
  box.addEventListener("input", (event) => { if (event.target.matches("[data-filter]")) arrange(box, sorted); });
  model.on("msg:custom", (message) => {
    if (!message.show) return;
    box.tabIndex = -1;
    box.focus({ preventScroll: true });
    const top = box.getBoundingClientRect().top;
    if (top < 0 || top > 0.7 * window.innerHeight) box.scrollIntoView({ block: "start" });
  });
  model.on("change:html", refresh);
  refresh();
  // pictures are laid out for the width they are shown at, so that their words keep their size
  const watch = new ResizeObserver((all) => {
    high = all.at(-1).borderBoxSize[0].blockSize;
    const room = 20 * Math.floor(box.clientWidth / 20);
    if (room <= 0 || room === model.get("wide")) return;
    box.dataset.drawing = "yes";  // a picture for another width is on its way
    setTimeout(() => { delete box.dataset.drawing; }, 2000);
    box.style.minHeight = "";
    model.set("wide", room);
    model.save_changes();
  });
  if (model.get("measured")) watch.observe(box);
  return () => watch.disconnect();
}

export default { render };
