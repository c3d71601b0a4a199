// Run, cancel and watch a study: native buttons and a native progress bar.
function make(tag, attributes = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...inside);
  return made;
}

function render({ model, el }) {
  const run = make("button", { type: "button" }, "Run");
  const more = make("button", { type: "button" });
  const cancel = make("button", { type: "button" }, "Cancel");
  const load = make("button", { type: "button" }, "Download table");
  const bar = make("progress", { "aria-label": "Progress of the study", max: 1, value: 0 });
  const text = make("span", { class: "db-count" }), said = make("span", { role: "status" });
  const box = make("div", { class: "desalbook db-study", "data-lm-suppress-shortcuts": "true" },
                   make("p", {}, run, " ", more, " ", cancel, " ", load, " ", bar, " ", text, " ", said));
  box.addEventListener("keydown", (event) => event.stopPropagation());  // keys pressed in here stay in here
  el.append(box);

  run.addEventListener("click", () => model.send({ run: true }));
  more.addEventListener("click", () => model.send({ continue: true }));
  cancel.addEventListener("click", () => model.send({ cancel: true }));
  load.addEventListener("click", () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([model.get("csv")], { type: "text/csv" }));
    link.download = model.get("name");
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  });

  function state() {
    const running = model.get("running"), had = document.activeElement;
    run.disabled = running;
    cancel.disabled = !running;
    load.disabled = running || !model.get("csv");
    more.hidden = running || !model.get("kept");
    more.textContent = model.get("kept");
    if ((had === run || had === more) && running) cancel.focus();  // a disabled button would drop the keyboard
    if (had === cancel && !running) run.focus();
    bar.hidden = text.hidden = !running;
  }
  function count() {
    bar.max = Math.max(model.get("cases"), 1);
    bar.value = model.get("done");
    text.textContent = model.get("count");
    bar.setAttribute("aria-valuetext", model.get("count"));
  }
  const words = () => { said.textContent = model.get("said"); };
  for (const name of ["running", "csv", "kept"]) model.on(`change:${name}`, state);
  for (const name of ["done", "cases", "count"]) model.on(`change:${name}`, count);
  model.on("change:said", words);
  state(); count(); words();
}

export default { render };
