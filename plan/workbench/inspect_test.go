package workbench

import (
	"context"
	"net"
	"net/http"
	"testing"
)

// inspect looks at the page as it is drawn. Contrast is that of WCAG 2.2 (relative luminance, 1.4.3); large text, from
// 24 px or 18.66 px bold, needs 3:1.
const inspect = `
const channel = (v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
const light = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
const canvas = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
const known = new Map();
const rgba = (css) => known.get(css) || (known.set(css, paint(css)), known.get(css));
const paint = (css) => { canvas.clearRect(0, 0, 1, 1); canvas.fillStyle = css; canvas.fillRect(0, 0, 1, 1); const d = canvas.getImageData(0, 0, 1, 1).data; return [d[0], d[1], d[2], d[3] / 255]; };
const over = (a, b) => [0, 1, 2].map((i) => a[i] * a[3] + b[i] * (1 - a[3]));
const ground = (el) => { const stack = []; for (let e = el; e; e = e.parentElement) { const c = rgba(getComputedStyle(e).backgroundColor); if (c[3] > 0) stack.push(c); if (c[3] >= 1) break; } return stack.reverse().reduce((b, c) => over(c, b), [255, 255, 255]); };
const seen = (el) => { const b = el.getBoundingClientRect(); return b.width > 1 && b.height > 1 && getComputedStyle(el).visibility !== "hidden" && !el.closest("[hidden], .away, .skip, svg, #said:not(.shown)"); };
const ratio = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
window.inspect = {
  faint(least) {
    const out = [];
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let n; (n = walk.nextNode()); ) {
      const el = n.parentElement;
      if (!n.data.trim() || !seen(el) || el.closest("script, :disabled")) continue;
      const s = getComputedStyle(el), size = parseFloat(s.fontSize), large = size >= 24 || (size >= 18.66 && +s.fontWeight >= 700);
      const r = ratio(over(rgba(s.color), ground(el)), ground(el));
      if (r < (large ? 3 : least)) out.push(n.data.trim().slice(0, 40) + " " + r.toFixed(2));
    }
    return out;
  },
  nameless() {
    return [...document.querySelectorAll("button, a[href], input, select, [role=option], [role=slider], [role=img], [role=listbox]")].filter(seen).filter((e) => {
      const label = e.getAttribute("aria-label") || e.textContent.trim() || e.closest("label")?.textContent.trim() || e.title;
      return !label;
    }).map((e) => e.outerHTML.slice(0, 80));
  },
  small(least) {
    return [...document.querySelectorAll("button:not(.linkish):not(.bus), a.button, select, .slipcard, summary")].filter(seen).filter((e) => { const b = e.getBoundingClientRect(); return b.height < least - 0.5 || b.width < least - 0.5; }).map((e) => e.outerHTML.slice(0, 80));
  },
  // leaves opens one leaf after the other and gathers what is wrong on it.
  async leaves(contrast, finger, wide) {
    const out = {};
    for (const b of document.querySelectorAll(".leaf")) {
      const leaf = b.dataset.leaf, end = Date.now() + 60000;
      b.click();
      const open = () => document.body.dataset.leaf === leaf && !document.querySelector(".drawn:empty") && document.querySelector("#leaf").innerText.length > 40;
      while (!open() && Date.now() < end) await new Promise((r) => setTimeout(r, 10));
      out[leaf] = [
        ...(open() ? [] : ["never drawn"]),
        ...inspect.faint(contrast).map((x) => "contrast below " + contrast + ":1 (WCAG 2.2, 1.4.3): " + x),
        ...inspect.nameless().map((x) => "without a name: " + x),
        ...inspect.small(finger).map((x) => "too small for a finger: " + x),
        ...inspect.cut().map((x) => "cut off: " + x),
        ...inspect.hyphens().map((x) => "a hyphen for a minus: " + x),
        ...(document.documentElement.scrollWidth > wide ? ["wider than the window"] : []),
        ...(/\b(null|undefined|NaN)\b/.test(document.body.innerText) ? ["a word of the program's: " + document.body.innerText.match(/.*\b(null|undefined|NaN)\b.*/)[0]] : []),
      ];
    }
    return out;
  },
  // hyphens finds levels below zero that are written with a hyphen.
  hyphens() {
    const out = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let n; (n = walk.nextNode()); ) if (!n.parentElement.closest("script, style, bdi, code") && /(^|[\s(=])-\d[\d.]*\s?(dB|VU|LU)/.test(n.data)) out.push(n.data.trim().slice(0, 80));
    return out;
  },
  // cut finds buttons whose words do not fit on them, where they are not meant to be shortened.
  cut() {
    return [...document.querySelectorAll("button, a.button, select, .badge, h2, h3, .out, .load span")].filter(seen).filter((e) => getComputedStyle(e).textOverflow !== "ellipsis" && e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 && getComputedStyle(e).display !== "inline").map((e) => e.outerHTML.slice(0, 100));
  },
};
`

// serveOn answers on a listener below a path until the test ends.
func serveOn(t *testing.T, l net.Listener, below string, b *Bench) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	s := &http.Server{Handler: http.StripPrefix(below, b.Handler()), BaseContext: func(net.Listener) context.Context { return ctx }}
	go s.Serve(l) //nolint:errcheck // it ends with the test
	t.Cleanup(func() { stop(); s.Close() })
}
