// Dragging slips and whole buses by mouse, pen and finger. A finger has to rest on a slip for a moment first, so that the
// page can still be scrolled.
import { h } from "./dom.js";
import { store, nameOf, changed } from "./store.js";

const slack = 6; // pixels before a press becomes a drag
const rest = 260; // milliseconds that a finger rests
const edge = 60; // pixels from the top and bottom where the page scrolls

export function drag(root, { move, aside }) {
  let held = null; // the press that may become a drag

  root.addEventListener("pointerdown", (e) => {
    if (e.button !== 0 || held) return;
    const slip = e.target.closest(".slipcard"), bus = e.target.closest(".bus");
    if (!slip && !bus) return;
    const files = bus ? bus.parentElement.files : store.chosen.has(slip.dataset.file) ? [...store.chosen] : [slip.dataset.file];
    held = { files, x: e.clientX, y: e.clientY, id: e.pointerId, touch: e.pointerType === "touch", from: slip || bus };
    if (held.touch) held.timer = setTimeout(() => begin(held.x, held.y), rest);
  });

  const onMove = (e) => {
    if (!held || e.pointerId !== held.id) return;
    held.nowX = e.clientX;
    held.nowY = e.clientY;
    if (held.ghost) return;
    const far = Math.hypot(e.clientX - held.x, e.clientY - held.y) > slack;
    if (far && held.touch) return drop();
    if (far) begin(e.clientX, e.clientY);
  };

  const onTouch = (e) => held?.ghost && e.preventDefault();

  function begin(x, y) {
    if (!held) return;
    const box = held.from.getBoundingClientRect();
    held.nowX = x;
    held.nowY = y;
    held.dx = x - box.left;
    held.dy = y - box.top;
    const n = held.files.length;
    held.ghost = h("div.ghost", { class: held.from.closest(".pair")?.className.match(/p\d/)?.[0] }, h("b", {}, n === 1 ? nameOf(held.files[0]) : `${nameOf(held.files[0])} and ${n - 1} more`));
    held.ghost.style.width = Math.max(120, Math.min(box.width, 220)) + "px";
    measure();
    // what the pointer passes neither lights up nor is looked for below it: the leaf has the pointer until the drag ends
    if (!held.touch) root.setPointerCapture(held.id);
    store.dragging = true;
    document.body.append(held.ghost);
    document.body.classList.add("dragging");
    for (const f of held.files) root.querySelector(`.slipcard[data-file="${CSS.escape(f)}"]`)?.classList.add("lifted");
    held.frame = requestAnimationFrame(step);
  }

  // measure notes where the lanes are; they do not change during a drag, only the page scrolls. Nothing is measured between frames, since
  // that would make the browser lay the page out twice.
  function measure() {
    held.scroll = held.top = root.scrollTop;
    held.targets = [...root.querySelectorAll(".pair, .asides")].map((el) => ({ el, box: el.getBoundingClientRect() }));
    held.view = root.getBoundingClientRect();
  }

  function step() {
    if (!held?.ghost) return;
    held.frame = requestAnimationFrame(step);
    const { nowX: x, nowY: y, view } = held;
    if (y < view.top + edge) root.scrollBy(0, -10);
    else if (y > view.bottom - edge) root.scrollBy(0, 10);
    held.ghost.style.translate = `${x - held.dx}px ${y - held.dy}px`;
    const shift = held.scroll - held.top;
    const over = held.targets.find(({ box }) => x >= box.left && x <= box.right && y >= box.top + shift && y <= box.bottom + shift);
    if (over?.el !== held.over) {
      held.over?.classList.remove("under");
      held.over = over?.el || null;
      held.over?.classList.add("under");
    }
  }

  function drop(take = false) {
    if (!held) return;
    clearTimeout(held.timer);
    cancelAnimationFrame(held.frame);
    const { ghost, over, files, nowX, nowY } = held;
    const id = held.id;
    held = null;
    store.dragging = false;
    if (root.hasPointerCapture(id)) root.releasePointerCapture(id);
    document.body.classList.remove("dragging");
    for (const el of root.querySelectorAll(".lifted")) el.classList.remove("lifted");
    over?.classList.remove("under");
    if (!ghost) return;
    ghost.remove();
    const there = over?.getBoundingClientRect(); // another window may have folded anew meanwhile: only what lies below the hand is meant
    const meant = there && nowX >= there.left && nowX <= there.right && nowY >= there.top && nowY <= there.bottom;
    // the click that ends a drag is no choice
    const swallow = (e) => (e.stopPropagation(), e.preventDefault());
    addEventListener("click", swallow, { capture: true, once: true });
    setTimeout(() => removeEventListener("click", swallow, true), 50);
    changed(); // what waited for the end of the drag goes on
    if (!take || !meant) return;
    if (over.classList.contains("asides")) aside(files);
    else move(files, +over.dataset.pair);
  }

  root.addEventListener("scroll", () => held && (held.top = root.scrollTop), { passive: true });
  addEventListener("pointermove", onMove);
  addEventListener("touchmove", onTouch, { passive: false });
  addEventListener("pointerup", (e) => held && e.pointerId === held.id && (held.ghost && step(), drop(true)));
  addEventListener("pointercancel", (e) => held && e.pointerId === held.id && drop());
  addEventListener("keydown", (e) => {
    if (e.key === "Escape" && held?.ghost) {
      e.preventDefault();
      drop();
    }
  });
  root.addEventListener("contextmenu", (e) => held?.touch && e.preventDefault());
}
