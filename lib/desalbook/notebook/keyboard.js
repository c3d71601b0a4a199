// Keys pressed in a panel are its own: arrows, Enter and letters would be commands of the notebook, which move to
// another cell or change it. Escape leaves the panel for the cell it stands in.
// The panel scrolls with the page, in no box of its own, so that what is sticky in it sticks to the page.
function free(panel) {
  for (let e = panel.parentElement; e && !e.matches(".jp-WindowedPanel-outer, .jp-Notebook"); e = e.parentElement)
    if (getComputedStyle(e).overflowY !== "visible" || getComputedStyle(e).overflowX !== "visible")
      e.style.overflow = "visible";
}

// What stands beside the fields stays in view below the line of the water, unless it is taller than the room there.
function follow(panel) {
  const top = panel.querySelector(".db-top"), effect = panel.querySelector(".db-effect");
  const page = panel.closest(".jp-WindowedPanel-outer, .jp-Notebook");
  if (!top || !effect || !page) return () => {};
  const fit = () => {
    const at = getComputedStyle(top).position === "sticky" ? top.offsetHeight : 0;
    panel.style.setProperty("--db-top", `${at + 4}px`);
    const room = page.clientHeight - at;
    effect.classList.toggle("db-tall", effect.offsetHeight > room + 100);
  };
  // room is kept below the columns, so that a sentence or a check that comes or goes moves nothing that stands there
  const columns = panel.querySelector(".db-columns"), left = columns.firstElementChild;
  const kept = new Map();
  let rows = 0;
  const keep = () => {
    const sum = (all) => [...all].reduce((high, e) => high + e.offsetHeight, 0);
    const fields = sum(left.children) - sum(left.querySelectorAll(".db-wrong"));
    const results = sum(effect.children), asked = Math.abs(fields - rows) > 4;
    rows = fields;  // who opens a group expects what is below to move; who sets a value does not
    const room = (e, high) => {
      // what cannot be built is said in up to five lines at its field, and a check more takes some
      const was = kept.get(e) ?? 0, wanted = high + 110;
      if (high === null) {
        kept.delete(e);
        e.style.minHeight = "";
      } else if (high > was - 8 || (asked && Math.abs(wanted - was) > 80) || wanted <= was - 190) {
        kept.set(e, wanted);
        e.style.minHeight = `${wanted}px`;
      }
    };
    const beside = getComputedStyle(columns).gridTemplateColumns.includes(" ");
    room(columns, beside ? Math.max(results, fields) : null);
    for (const [e, high] of [[left, fields], [effect, results]]) room(e, beside ? null : high);
  };
  page.style.overflowAnchor = "none";  // what grows beside a field does not push the field away
  const watch = new ResizeObserver(() => { fit(); keep(); });
  for (const e of [top, effect, page, ...left.children]) watch.observe(e);
  return () => watch.disconnect();
}

// A kernel that was restarted knows nothing of this panel: one line says so, with a way on, and nothing in it can be
// pressed in vain. What was not saved is kept as a draft, which the new panel offers.
function ended(panel) {
  const tell = () => {
    const was = panel.querySelector(":scope > .db-ended");
    if (was || !panel.classList.contains("jupyter-widgets-disconnected")) return;
    const line = document.createElement("div");
    line.className = "db-ended";
    line.setAttribute("role", "alert");
    line.textContent = "The kernel was restarted, so this panel no longer answers; unsaved changes are kept as a draft. ";
    const commands = window.jupyterapp?.commands;
    if (commands) {
      const again = document.createElement("button");
      again.type = "button";
      again.textContent = "Run this notebook again";
      again.addEventListener("click", () => commands.execute("notebook:run-all-cells"));
      line.append(again);
    } else line.append("Choose Run \u25b8 Run All Cells.");
    for (const child of panel.children) child.inert = true;
    panel.prepend(line);
  };
  const watch = new MutationObserver(tell);
  watch.observe(panel, { attributes: true, attributeFilter: ["class"] });
}

function render({ el }) {
  let end = () => {};
  const mine = (panel) => {
    panel.dataset.lmSuppressShortcuts = "true";
    panel.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && !event.defaultPrevented && !event.target.closest("[aria-expanded=true]"))
        panel.closest(".jp-Cell")?.focus();
      event.stopPropagation();
    });
    ended(panel);
    if (panel.matches(".db-panel")) requestAnimationFrame(() => { free(panel); end = follow(panel); });
  };
  const find = () => {
    const panel = el.closest(".db-panel, .db-desk");
    if (panel) mine(panel); else if (tries-- > 0) requestAnimationFrame(find);
  };
  let tries = 600;  // it is drawn before it stands on the page
  el.style.display = "none";
  find();
  return () => end();
}

export default { render };
