// Keys pressed in a panel are its own: arrows, Enter and letters would be commands of the notebook, which move to
// another cell or change it. Escape leaves the panel for the cell it stands in.
function render({ el }) {
  const mine = (panel) => {
    panel.dataset.lmSuppressShortcuts = "true";
    panel.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && !event.defaultPrevented && !event.target.closest("[aria-expanded=true]"))
        panel.closest(".jp-Cell")?.focus();
      event.stopPropagation();
    });
  };
  const find = () => {
    const panel = el.closest(".db-panel, .db-desk");
    if (panel) mine(panel); else if (tries-- > 0) requestAnimationFrame(find);
  };
  let tries = 600;  // it is drawn before it stands on the page
  el.style.display = "none";
  find();
}

export default { render };
