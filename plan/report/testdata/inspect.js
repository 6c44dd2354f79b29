// Functions by which the tests look at a page. Each gives a list of complaints, or of what it found.

const short = s => s.trim().replace(/\s+/g, ' ').slice(0, 60);
const visible = e => {
  const s = getComputedStyle(e);
  return s.visibility !== 'hidden' && e.getClientRects().length > 0 && !e.closest('.away,.skip');
};
const texts = q => [...document.querySelectorAll(q)].map(e => e.textContent);
const shown = q => [...document.querySelectorAll(q)].filter(visible);

// Text nodes that can be seen, with the element around them.
const words = () => {
  const out = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const n = walk.currentNode, e = n.parentElement;
    if (n.data.trim() && !e.closest('style,title,desc') && visible(e)) out.push([n, e]);
  }
  return out;
};
const rects = n => {
  const r = document.createRange();
  r.selectNodeContents(n);
  return [...r.getClientRects()];
};

// Text that leaves the box it is in, or the window; register names that touch.
const boxes = '.slip,.lane .name,.ribbon,.sheet,th,td,.title,li,dd,dt,h1,h2,h3,figcaption,.hint,.legend span';
const spilt = () => {
  const out = [], wide = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > wide + 1) out.push(`the page is ${document.documentElement.scrollWidth} wide in a window of ${wide}`);
  for (const [n, e] of words()) {
    if (e.closest('svg')) continue;
    const scroll = e.closest('.scroll');
    const scrolls = scroll && getComputedStyle(scroll).overflowX === 'auto';
    for (const r of rects(n)) {
      if (!scrolls && (r.right > wide + 1 || r.left < -1)) out.push('beyond the window: ' + short(n.data));
      for (let b = e.closest(boxes); b; b = b.parentElement && b.parentElement.closest(boxes)) {
        if (scroll && b.contains(scroll)) break;
        const q = b.getBoundingClientRect();
        const inline = getComputedStyle(b).display.startsWith('inline');
        if (!inline && (r.right > q.right + 1 || r.left < q.left - 1 || r.bottom > q.bottom + 4 || r.top < q.top - 4))
          out.push(`beyond ${b.className || b.tagName}: ${short(n.data)} (${Math.round(r.right - q.right)} px)`);
      }
    }
  }
  for (const axis of shown('.axis')) {
    const spans = [...axis.children].flatMap(s => rects(s));
    spans.forEach((a, i) => spans.slice(i + 1).forEach(b => {
      if (a.left < b.right - .5 && b.left < a.right - .5 && a.top < b.bottom - 1 && b.top < a.bottom - 1) out.push('registers touch');
    }));
  }
  for (const t of document.querySelectorAll('svg.field text')) {
    const b = t.getBBox(), v = t.ownerSVGElement.viewBox.baseVal;
    if (b.x < -1 || b.x + b.width > v.width + 1 || b.y < -1 || b.y + b.height > v.height + 1) out.push('beyond the map: ' + short(t.textContent));
  }
  return [...new Set(out)];
};

// Contrast as WCAG 2.2 computes it.
const parse = c => {
  const m = c.match(/[\d.]+/g).map(Number);
  return { r: m[0], g: m[1], b: m[2], a: m.length > 3 ? m[3] : 1 };
};
const over = (t, u) => ({ r: t.r * t.a + u.r * (1 - t.a), g: t.g * t.a + u.g * (1 - t.a), b: t.b * t.a + u.b * (1 - t.a), a: 1 });
const luminance = c => {
  const f = v => (v /= 255) <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4;
  return .2126 * f(c.r) + .7152 * f(c.g) + .0722 * f(c.b);
};
const ground = e => {
  const layers = [];
  for (; e; e = e.parentElement) {
    const c = parse(getComputedStyle(e).backgroundColor);
    if (c.a > 0) layers.push(c);
    if (c.a === 1) break;
  }
  return layers.reduceRight((u, t) => over(t, u), { r: 255, g: 255, b: 255, a: 1 });
};
const brightness = () => luminance(ground(document.body));
const faint = least => {
  const out = [];
  for (const [n, e] of words()) {
    let style = getComputedStyle(e), ink, under;
    if (e.closest('svg')) {
      if (e.closest('.drawing')) continue; // drawings of other packages: black on white, tested there
      ink = parse(style.fill);
      const disc = e.previousElementSibling;
      under = disc && disc.tagName === 'circle' ? parse(getComputedStyle(disc).fill) : ground(e);
    } else {
      ink = parse(style.color);
      under = ground(e);
    }
    ink = over(ink, under);
    const a = luminance(ink), b = luminance(under);
    const ratio = (Math.max(a, b) + .05) / (Math.min(a, b) + .05);
    if (ratio < least) out.push(`${ratio.toFixed(2)}: ${short(n.data)} (${e.className.baseVal ?? e.className})`);
  }
  return [...new Set(out)];
};

// Pictures without alternative text, sections without a heading, tables without headers, levels of headings left out,
// names given twice.
const mute = () => {
  const out = [];
  for (const s of document.querySelectorAll('svg'))
    if (!s.closest('[aria-hidden=true]') && !s.getAttribute('aria-label') && !s.closest('[role=img][aria-label]')) out.push('svg ' + s.outerHTML.slice(0, 80));
  for (const s of document.querySelectorAll('section,article'))
    if (!document.getElementById(s.getAttribute('aria-labelledby'))) out.push('section ' + s.id);
  for (const t of document.querySelectorAll('table'))
    if (!t.querySelector('thead th[scope=col]')) out.push('table ' + t.className);
  let last = 0;
  for (const h of document.querySelectorAll('h1,h2,h3,h4')) {
    const level = +h.tagName[1];
    if (level > last + 1) out.push('heading ' + short(h.textContent));
    last = level;
  }
  const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
  ids.filter((id, i) => ids.indexOf(id) !== i).forEach(id => out.push('twice ' + id));
  for (const a of document.querySelectorAll('a[href^="#"]'))
    if (!document.getElementById(a.getAttribute('href').slice(1))) out.push('leads nowhere ' + a.href);
  return out;
};
const handlers = () => [...document.querySelectorAll('*')].flatMap(e => [...e.attributes]).filter(a => /^on/i.test(a.name) || /^(href|src|action)$/.test(a.name) && /^\s*javascript:/i.test(a.value)).map(a => a.name + a.value);
const stops = () => [...document.querySelectorAll('a[href],summary,input,[tabindex="0"]')].map(e => short(e.textContent));
