// A piece of page made by the kernel. An element with data-ask is a question to the kernel; one with
// data-download hands over the picture beside it as a file that stands alone.
function standalone(svg) {
  const copy = svg.cloneNode(true), style = getComputedStyle(svg);
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("style", `color:${style.color};font-family:${style.fontFamily}`);
  return copy.outerHTML.replace(/var\((--[a-z0-9-]+)(?:,[^()]*(?:\([^()]*\))?)?\)/g,
    (_, name) => style.getPropertyValue(name).trim() || style.color);
}

function render({ model, el }) {
  const box = document.createElement("div");
  box.dataset.lmSuppressShortcuts = "true";  // keys pressed in here are not commands of the notebook
  box.addEventListener("keydown", (event) => event.stopPropagation());
  el.append(box);
  const refresh = () => {
    const open = new Set([...box.querySelectorAll("details[open][data-key]")].map((d) => d.dataset.key));
    box.innerHTML = model.get("html");
    for (const d of box.querySelectorAll("details[data-key]")) if (open.has(d.dataset.key)) d.open = true;
  };
  box.addEventListener("click", (event) => {
    const ask = event.target.closest("[data-ask]");
    if (ask) model.send(JSON.parse(ask.dataset.ask));
    const load = event.target.closest("[data-download]");
    const svg = load?.closest("figure")?.querySelector("svg");
    if (!svg) return;
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([standalone(svg)], { type: "image/svg+xml" }));
    link.download = load.dataset.download;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  });
  model.on("change:html", refresh);
  refresh();
}

export default { render };
