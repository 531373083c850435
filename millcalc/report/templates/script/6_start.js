  // ---- start: picture, section and readout at one moment, the first stop's ------------------------------
  startPicture();
  startRelief();
  startText();
  startStrips();
  startTime();
  startFindings();
  startFlags();
  sizes();
  const worst = order.length && data.findings[order[0] - 1].severity !== "note" ? order[0] : 0;
  if (worst) choose(worst, { from: "start" });
  else if (time) show(total);
  else drawRows();
  unpack();
  window.addEventListener("resize", () => { sizes(); drawRelief(); if (time && side) sectionHolds(); });
  // paper cannot be unfolded, and has a scale of its own
  let kept = null;
  window.addEventListener("beforeprint", () => {
    all("details").forEach((part) => { part.open = true; });
    kept = view ? { view: view, now: now, at: nowAt, plane: sectionY } : null;
    printing = true;
    if (time) show(total, { keepText: true });
    if (top && home) look(...home);
  });
  window.addEventListener("afterprint", () => {
    printing = false;
    if (kept && top) { look(...kept.view); if (time) show(kept.now, { at: kept.at, keepText: true, plane: kept.plane }); }
  });
  document.documentElement.dataset.ready = "yes";
