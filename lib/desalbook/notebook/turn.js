// Rows of controls made from the schema. Native elements: a label, a typed field, a slider, two buttons.
// What a person asks goes to the kernel as a message; while one is under way only the last one waits.
function make(tag, attributes = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...inside);
  return made;
}

function say(element, name, value) {  // a change of an attribute costs even where it changes nothing
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}

function hide(element, yes) { if (element.hidden !== yes) element.hidden = yes; }

function render({ model, el }) {
  const box = make("div", { class: "desalbook db-turn" });
  el.append(box);
  const rows = new Map();
  // those that decide, the search with what it found, and the folded groups
  const parts = { "": make("div", { class: "db-first" }) }, found = make("div", { class: "db-found" });
  const look = make("input", { type: "text", autocomplete: "off", spellcheck: "false", placeholder: "any field",
                               "aria-label": "Search the fields" });
  const told = make("span", { class: "quiet", role: "status" });
  const search = make("div", { class: "db-search" }, make("span", { "aria-hidden": "true" }, "Search"), look, told);
  const groups = make("div", { class: "db-groups" });
  box.append(parts[""], search, found, groups);
  const within = ({ group = "" }) => group;  // rows of a desk stand in none
  const name = (row) => `${within(row)}|${row.key}`;
  let shape = "", wait = 0;
  look.addEventListener("input", () => {
    clearTimeout(wait);
    wait = setTimeout(() => ask({ find: look.value }), 200);
  });
  look.addEventListener("keydown", (e) => {
    if (e.key === "Escape" && look.value) { e.preventDefault(); look.value = ""; ask({ find: "" }); }
  });
  let asked = model.get("answered"), waiting = null;

  const send = (what) => { asked += 1; model.send({ ...what, n: asked }); };
  const ask = (what) => { if (model.get("answered") < asked) waiting = what; else send(what); };
  model.on("change:answered", () => {
    if (waiting !== null && model.get("answered") >= asked) { const w = waiting; waiting = null; send(w); }
  });

  // What is added to a list: a name, and what an entry must state.
  function buildList(row) {
    const id = `db-${Math.random().toString(36).slice(2)}`, fields = [];
    const input = (name, text, options = []) => {
      const field = options.length ? make("select", {}) : make("input", { type: "text", autocomplete: "off",
                                                                          spellcheck: "false" });
      for (const [value, words] of options) field.append(make("option", { value }, words));
      field.value = text;
      return make("label", {}, `${name} `, field);
    };
    const made = make("div", { class: "db-row db-list", role: "group", "aria-label": row.title, "data-list": row.key });
    made.append(make("span", { class: "db-list-title" }, row.title));
    for (let n = 0; n < row.least; n += 1) {
      const one = {}, line = make("div", { class: "db-list-entry" });
      const first = row.choices.find(([key]) => key)?.[0];
      if (row.named) line.append(one[""] = input("Name", first ?? (row.least > 1 ? `p${n + 1}` : ""), row.choices));
      for (const w of row.wants)
        line.append(one[w.key] = input(w.unit ? `${w.title}, ${w.unit}` : w.title, w.text, w.options));
      fields.push(one);
      made.append(line);
    }
    const after = row.places.length ? input("After", row.places.at(-1)[0], row.places) : null;
    if (after) made.append(after);
    const add = make("button", { type: "button" }, "Add");
    add.setAttribute("aria-label", `Add ${row.title}`);
    add.addEventListener("click", () => {
      const entries = {};
      for (const one of fields) {
        const values = Object.fromEntries(Object.entries(one).map(([k, e]) => [k, e.lastElementChild.value.trim()]));
        const { "": name = "", ...rest } = values;
        entries[name] = rest;
      }
      ask({ add: row.key, entries, after: after?.lastElementChild.value ?? "" });
    });
    const said = make("p", { class: "db-wrong", role: "alert", id: `${id}-said` });
    const help = make("span", { class: "quiet" }, row.help);
    made.append(add, help, said);
    return { made, said, add, list: true };
  }

  function build(row) {
    if (row.form === "list") return buildList(row);
    const id = `db-${Math.random().toString(36).slice(2)}`;
    // a short unit stays in one piece and with its name; a long one, such as mg/L as product, may take a line of its own
    const shown = row.shown_unit ?? row.unit;
    const held = shown.length > 9 ? `, ${shown}` : `,\u00a0${shown.replaceAll(" ", "\u00a0")}`;
    const unit = row.unit ? held : "";
    const label = make("label", { for: id }, row.title + unit);
    let field;
    if (row.form === "choice" || row.form === "flag") {
      field = make("select", { id });
      for (const [value, words] of row.options) field.append(make("option", { value }, words));
      field.addEventListener("change", () => ask({ write: row.key, text: field.value }));
    } else {
      field = make("input", { id, type: "text", autocomplete: "off", spellcheck: "false" });
      field.addEventListener("input", () => { field.dataset.typed = "yes"; });
      const done = () => {
        if (field.dataset.typed === "yes") { delete field.dataset.typed; ask({ write: row.key, text: field.value }); }
      };
      field.addEventListener("change", done);
      field.addEventListener("keydown", (e) => { if (e.key === "Enter") done(); });
    }
    field.dataset.key = row.key;
    const made = make("div", { class: "db-row" }, label, field);
    const parts = { made, label, field };
    if (row.low !== null && row.form === "quantity") {
      const slider = make("input", { type: "range", min: row.low, max: row.high, step: row.step,
                                     "aria-label": `${row.title}${unit}, slider` });
      const written = (x) => `${Number(x.toPrecision(5))} ${parts.row.unit}`.trim();
      slider.addEventListener("input", () => {
        const at = Number(slider.value), on = at + Math.sign(at - parts.at) * Number(slider.step);
        const text = written(at), said = { write: row.key, text };
        said.slid = true;
        if (on !== at && on >= Number(slider.min) && on <= Number(slider.max)) said.then = written(on);
        parts.at = at;
        field.value = text;
        ask(said);
      });
      parts.slider = slider;
      made.append(slider);
    } else if (field.tagName === "INPUT") made.append(make("span"));  // a list takes the place of the slider too
    const confirm = make("button", { type: "button", title: "Set the assumed value in the design" }, "Confirm");
    const reset = make("button", { type: "button", title: "Clear: use the default again" }, "Reset");
    confirm.setAttribute("aria-label", `Confirm ${row.title}`);
    reset.setAttribute("aria-label", `Reset ${row.title}`);
    confirm.addEventListener("click", () => ask({ confirm: row.key }));
    reset.addEventListener("click", () => ask({ reset: row.key }));
    made.append(make("span", { class: "db-acts" }, confirm, reset));
    const help = make("p", { class: "db-help", id: `${id}-help`, hidden: "" });
    const about = make("button", { type: "button", class: "db-about", "aria-label": `About ${row.title}`,
                                   "aria-expanded": "false", "aria-controls": `${id}-help`, title: row.range }, "?");
    about.addEventListener("click", () => {
      help.hidden = !help.hidden;
      about.setAttribute("aria-expanded", String(!help.hidden));
    });
    const said = make("p", { class: "db-wrong", role: "alert", id: `${id}-said` });
    field.setAttribute("aria-describedby", `${id}-said`);
    made.append(about, help, said);
    return Object.assign(parts, { confirm, reset, help, said });
  }

  function tell(said, row) {
    if (said.dataset.text === row.said) return;
    said.dataset.text = row.said;
    said.replaceChildren(row.said ? `✗ ${row.said}` : "");
    for (const [key, words] of row.ways ?? []) {
      const go = make("button", { type: "button", class: "db-way", title: key }, `Go to ${words}`);
      go.addEventListener("click", () => ask({ turn: key }));
      said.append(" ", go);
    }
  }

  function fill(parts, row) {
    parts.row = row;
    if (parts.list) { tell(parts.said, row); return; }
    const { field, slider, confirm, reset, help, said, made } = parts;
    const about = row.range ? `${row.range}; ${row.help}` : row.help;
    if (help.textContent !== about) help.textContent = about;
    tell(said, row);
    say(field, "aria-invalid", row.said ? "true" : "false");
    const busy = field.dataset.typed === "yes" || waiting !== null;
    if (!row.said && !busy) { if (field.value !== row.text) field.value = row.text; }
    if (field.placeholder !== undefined) say(field, "placeholder", row.wait);
    // what would be cut takes the width of two columns, or a line of its own
    const words = field.tagName === "SELECT" ? field.selectedOptions[0]?.textContent ?? "" : row.text || row.wait;
    made.classList.toggle("db-long", words.length > (field.tagName === "SELECT" ? 17 : 14));
    if (slider && document.activeElement !== slider) {
      slider.value = row.number === null ? row.low : row.number;
      parts.at = Number(slider.value);  // from where it is turned, and so which way
    }
    if (slider) {
      slider.classList.toggle("db-unset", row.number === null);
      say(slider, "aria-valuetext", row.number === null ? row.wait || "not set" : row.text);
    }
    made.classList.toggle("db-assumed", row.assumed);
    made.classList.toggle("db-outlined", Boolean(row.said));
    const held = [confirm, reset].find((b) => b === document.activeElement);
    hide(confirm, !row.assumed);
    hide(reset, !row.stands || row.required);
    if (held?.hidden) field.focus();  // a button that goes hands the focus to its field
  }

  function refresh() {
    const wanted = model.get("rows");
    fold(model.get("groups"));
    const same = wanted.length === rows.size && wanted.every((r) => rows.get(name(r))?.row.sign === r.sign);
    if (!same) {
      const held = new Map(rows), into = new Map();
      rows.clear();
      for (const row of wanted) {
        const was = held.get(name(row)), made = was?.row.sign === row.sign ? was : build(row);
        rows.set(name(row), made);
        const place = within(row) === "?" ? found : parts[within(row)] ?? parts[""];
        if (!into.has(place)) into.set(place, []);
        into.get(place).push(made.made);
      }
      for (const place of [found, ...Object.values(parts)]) {
        const all = into.get(place) ?? [], there = [...place.children].filter((e) => e.matches(".db-row"));
        if (all.length === there.length && all.every((e, i) => e === there[i])) continue;
        for (const e of there) if (!all.includes(e)) e.remove();
        const head = place.matches("details") ? 1 : 0;  // its name stands first, groups within it last
        all.forEach((e, i) => {
          if (place.children[i + head] !== e) place.insertBefore(e, place.children[i + head] ?? null);
        });
      }
    }
    for (const row of wanted) fill(rows.get(name(row)), row);
    hide(search, model.get("groups").length === 0);
    if (document.activeElement !== look && look.value !== model.get("find")) look.value = model.get("find");
    if (told.textContent !== model.get("note")) told.textContent = model.get("note");
  }

  // The folded groups; one stands in another. Rows of what is folded are not there.
  function fold(some) {
    const wanted = some.map((g) => [g.key, g.title, g.under, g.remove].join("\n")).join("\n\n");
    if (wanted !== shape) {
      shape = wanted;
      rows.clear();
      for (const key of Object.keys(parts)) if (key) delete parts[key];
      for (const e of [groups, parts[""], found]) e.replaceChildren();
      for (const g of some) {
        const made = make("details", { class: "db-group", "data-group": g.key }, make("summary", {}, g.title));
        parts[g.key] = made;
        if (g.remove) {
          const gone = make("button", { type: "button", class: "db-remove" }, "Remove");
          gone.setAttribute("aria-label", `Remove ${g.title}`);
          gone.addEventListener("click", () => ask({ remove: g.key }));
          made.append(gone);
        }
        made.addEventListener("toggle", () => {
          if (made.open !== (made.dataset.open === "yes")) {
            made.dataset.open = made.open ? "yes" : "no";
            ask({ fold: g.key, open: made.open });
          }
        });
        (parts[g.under] && g.under ? parts[g.under] : groups).append(made);
      }
    }
    for (const g of some) {
      const made = parts[g.key], open = g.open ? "yes" : "no";
      if (made.dataset.open !== open) { made.dataset.open = open; made.open = g.open; }
    }
  }

  const seen = () => model.send({ seen: true, n: asked });
  window.addEventListener("focus", seen);
  const sight = new IntersectionObserver((all) => { if (all.at(-1).isIntersecting) seen(); });
  sight.observe(box);  // another notebook may have written files while this one was out of sight
  model.on("msg:custom", (message) => {
    const field = [...rows.values()].find((r) => r.row.key === message.show)?.field;
    (field ?? parts[message.show])?.scrollIntoView({ block: "center" });
    field?.focus({ preventScroll: true });
  });
  for (const what of ["rows", "groups", "note"]) model.on(`change:${what}`, refresh);
  refresh();
  return () => { window.removeEventListener("focus", seen); sight.disconnect(); };
}

export default { render };
