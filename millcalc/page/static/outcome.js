"use strict";
// how far a check is; and the report as high as it is, so that the page has one scroll bar
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
  const frame = document.getElementById("report");
  if (frame) {
    const fit = () => {
      const inner = frame.contentDocument && frame.contentDocument.documentElement;
      if (inner) { frame.height = Math.ceil(inner.getBoundingClientRect().height) + 40; }
    };
    frame.addEventListener("load", () => {
      fit();
      new ResizeObserver(fit).observe(frame.contentDocument.body);
    });
  }
})();
