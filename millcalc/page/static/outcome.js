"use strict";
// how far a check is
(() => {
  const task = document.getElementById("task");
  if (task && task.dataset.state) {
    const bar = document.getElementById("share");
    const said = document.getElementById("said");
    const look = async () => {
      try {
        const found = await (await millcalc.look(task.dataset.state)).json();
        if (!found.live) { location.reload(); return; }
        if (said.textContent !== found.said) { said.textContent = found.said; }
        if (found.share > 0) { bar.value = found.share; } else { bar.removeAttribute("value"); }
      } catch (error) { said.textContent = "The page's server does not answer. Is millcalc page still running?"; }
      setTimeout(look, 400);
    };
    setTimeout(look, 300);
  }
})();
