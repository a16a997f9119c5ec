"use strict";
// The little that the browser must do itself: fill panes, move the focus, send files.
const bench = {
  say(text) {
    const line = document.getElementById("status");
    if (line) { line.textContent = ""; requestAnimationFrame(() => { line.textContent = text; }); }
  },
  fill(colours, labels, surfaces) {
    for (const [id, colour] of Object.entries(colours)) {
      const pane = document.getElementById("p-" + id);
      if (pane) pane.setAttribute("fill", colour);
    }
    for (const [id, label] of Object.entries(labels || {})) {
      const pane = document.getElementById("p-" + id);
      if (pane) pane.setAttribute("aria-label", label);
    }
    const coats = document.querySelector("svg.window .coats");
    for (const [id, surface] of Object.entries((coats && surfaces) || {})) {
      const pane = document.getElementById("p-" + id);
      let coat = coats.querySelector(`[data-coat="${id}"]`);
      if (surface === "clear" || !pane) { if (coat) coat.remove(); continue; }
      if (!coat) {
        coat = coats.appendChild(pane.cloneNode(false));
        for (const name of coat.getAttributeNames()) if (name !== "d") coat.removeAttribute(name);
        coat.dataset.coat = id;
      }
      const turn = [...id].reduce((sum, letter) => sum + letter.charCodeAt(0), 0) % 3;
      coat.setAttribute("fill", `url(#coat-${surface}-${turn})`);
    }
    bench.halo();
    requestAnimationFrame(() => { bench.shown = performance.now(); });
  },
  ink(colour) {
    const svg = document.querySelector("svg.window");
    if (svg) svg.style.setProperty("--ink", colour);
  },
  select(prefix, ids) {
    const chosen = new Set(ids);
    for (const part of document.querySelectorAll(`[role=option][id^="${prefix}-"]`)) {
      const on = chosen.has(part.id.slice(2));
      part.setAttribute("aria-selected", String(on));
      part.classList.toggle("chosen", on);
    }
  },
  // the focus back to where it was, when a step was drawn again under it
  refocus() {
    setTimeout(() => {
      const place = document.getElementById(bench.last || "");
      if (place && document.activeElement === document.body) place.focus({ preventScroll: true });
    }, 50);
  },
  // the glow on the wall around the window: its colours on a small canvas, drawn large and soft
  halo() {
    if (bench.waiting) return;
    bench.waiting = true;
    requestAnimationFrame(() => {
      bench.waiting = false;
      const svg = document.querySelector("svg.window");
      const canvas = document.getElementById("halo");
      if (!svg || !canvas) return;
      const w = Number(svg.dataset.width), h = Number(svg.dataset.height);
      const scale = 48 / Math.max(w, h);
      canvas.width = Math.ceil(w * scale); canvas.height = Math.ceil(h * scale);
      const pen = canvas.getContext("2d");
      pen.scale(scale, scale);
      for (const pane of svg.querySelectorAll("[data-pane]")) {
        pane.shape ||= new Path2D(pane.getAttribute("d"));
        pen.fillStyle = pane.getAttribute("fill");
        pen.fill(pane.shape, "evenodd");
      }
    });
  },
  // where an input's files go, with the choice that goes with them
  address(input) {
    const list = document.getElementById(input.dataset.with || "");
    return input.dataset.to + (list ? `?${list.name}=${list.value}` : "");
  },
  async send(input, url, message) {
    const line = document.getElementById(message);
    for (const file of input.files || input) {
      if (file.size > 48 * 1024 * 1024) {
        line.textContent = `${file.name} is over the limit of 48 MiB`; return;
      }
      line.textContent = `sending ${file.name} …`;
      try {
        const answer = await fetch(url, {
          method: "POST", body: file, headers: { "X-Name": encodeURIComponent(file.name) },
        });
        const told = await answer.json().catch(() => ({ fault: answer.statusText }));
        if (!answer.ok) { line.textContent = told.fault || "it was refused"; return; }
        line.textContent = told.said || "";
        if (told.go) { location.href = told.go; return; }
        emitEvent("sent", told);
      } catch (error) { line.textContent = "the page did not answer: " + error.message; }
    }
    if (input.value) input.value = "";
  },
};

function act(part, event) {
  const more = event.shiftKey || event.ctrlKey || event.metaKey;
  bench.asked = performance.now();
  if (part.dataset.pane) emitEvent("pane", { id: part.dataset.pane, more });
  else if (part.dataset.member) emitEvent("member", { id: part.dataset.member });
}
document.addEventListener("click", (event) => {
  const part = event.target.closest && event.target.closest("svg [role=option]");
  if (part) act(part, event);
});
document.addEventListener("keydown", (event) => {
  const key = event.key.toLowerCase();
  if ((event.ctrlKey || event.metaKey) && (key === "z" || key === "y") &&
      !/^(input|textarea|select)$/i.test(event.target.tagName)) {
    event.preventDefault();
    emitEvent(key === "y" || event.shiftKey ? "redo" : "undo", {});
    return;
  }
  if (event.key === "Escape") { emitEvent("let-go", {}); return; }
  const part = event.target.closest && event.target.closest("svg [role=option]");
  if (!part) return;
  if (event.key === "Enter" || event.key === " ") {
    event.preventDefault(); act(part, event); return;
  }
  const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const step = steps[event.key];
  if (!step) return;
  event.preventDefault();
  const middle = (one) => {
    const box = one.getBoundingClientRect();
    return [box.left + box.width / 2, box.top + box.height / 2];
  };
  const [x, y] = middle(part);
  let best = null, least = Infinity;
  for (const other of part.parentNode.querySelectorAll("[role=option]")) {
    if (other === part) continue;
    const [ox, oy] = middle(other);
    const along = (ox - x) * step[0] + (oy - y) * step[1];
    const aside = Math.abs((ox - x) * step[1]) + Math.abs((oy - y) * step[0]);
    const cost = along + 2.5 * aside;
    if (along > 1 && cost < least) { least = cost; best = other; }
  }
  if (best) { part.tabIndex = -1; best.tabIndex = 0; best.focus(); }
});
document.addEventListener("focusin", (event) => {
  bench.last = event.target.id;
  const part = event.target.closest && event.target.closest("svg [role=option]");
  if (!part) return;
  for (const other of part.parentNode.querySelectorAll("[tabindex='0']")) other.tabIndex = -1;
  part.tabIndex = 0;
});
document.addEventListener("change", (event) => {
  const input = event.target;
  if (input.matches("input[type=file][data-to]")) {
    bench.send(input, bench.address(input), input.dataset.says);
  }
});
for (const kind of ["dragover", "dragleave", "drop"]) {
  document.addEventListener(kind, (event) => {
    const place = event.target.closest && event.target.closest(".drop");
    if (!place && kind !== "dragleave") { event.preventDefault(); return; }
    if (!place) return;
    event.preventDefault();
    place.classList.toggle("over", kind === "dragover");
    if (kind === "drop") {
      const input = place.querySelector("input[type=file]");
      bench.send(event.dataTransfer.files, bench.address(input), input.dataset.says);
    }
  });
}
