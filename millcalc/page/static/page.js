"use strict";
// what every page shares: forms that send themselves on a change, and a page that says when its server is gone
(() => {
  const csrf = document.querySelector("meta[name=csrf]");
  window.millcalc = {
    async send(url, form) {
      const body = form instanceof FormData ? form : new FormData(form);
      const answer = await fetch(url, { method: "POST", body: new URLSearchParams(body), headers: { "x-csrf": csrf.content, "x-part": "1" } });
      if (answer.status === 401) { location.reload(); }
      return answer.text();
    },
    async look(url) {
      const answer = await fetch(url, { headers: { "x-part": "1" } });
      if (answer.status === 401) { location.reload(); }
      return answer;
    },
  };
  // only on this machine's own address: elsewhere a browser has no such thing
  if (window.isSecureContext && "serviceWorker" in navigator) { navigator.serviceWorker.register("/offline.js").catch(() => {}); }
  // a document inside a page is as high as it is, so that the page has one scroll bar
  for (const frame of document.querySelectorAll("iframe.report")) {
    const fit = () => {
      const inner = frame.contentDocument && frame.contentDocument.documentElement;
      if (inner) { frame.height = Math.ceil(inner.getBoundingClientRect().height) + 40; }
    };
    frame.addEventListener("load", () => { fit(); new ResizeObserver(fit).observe(frame.contentDocument.body); });
  }
  document.addEventListener("change", (event) => {
    const form = event.target.form;
    if (form && form.dataset.send === "change") { form.requestSubmit(); }
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-print]");
    if (button) { window.print(); }
  });
})();
