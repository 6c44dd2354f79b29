// The drawing of the passage, and the part of it that is looped.

const shortest = 0.3; // seconds

export class Wave {
  constructor(box, parts, changed) {
    this.box = box;
    this.parts = parts;
    this.changed = changed;
    this.canvas = box.querySelector('canvas');
    this.loop = box.querySelector('#loop');
    this.mark = box.querySelector('#head');
    this.seconds = 1;
    this.draw();
    new ResizeObserver(() => this.draw()).observe(box);
    matchMedia('(prefers-color-scheme:dark)').addEventListener('change', () => this.draw());
    box.addEventListener('pointerdown', e => this.drag(e));
  }

  draw() {
    const ratio = devicePixelRatio || 1;
    const {width, height} = this.box.getBoundingClientRect();
    this.canvas.width = width * ratio;
    this.canvas.height = height * ratio;
    const g = this.canvas.getContext('2d');
    g.fillStyle = getComputedStyle(document.documentElement).getPropertyValue('--soft');
    const step = this.canvas.width / this.parts.length;
    const middle = this.canvas.height / 2;
    this.parts.forEach((v, i) => {
      const h = Math.max(1, v * (middle - 4));
      g.fillRect(i * step, middle - h, Math.max(1, step * 0.7), 2 * h);
    });
  }

  at(e) {
    const {left, width} = this.box.getBoundingClientRect();
    return Math.min(1, Math.max(0, (e.clientX - left) / width)) * this.seconds;
  }

  drag(e) {
    const from = this.at(e);
    this.box.setPointerCapture(e.pointerId);
    const span = f => [Math.min(from, this.at(f)), Math.max(from, this.at(f))];
    const move = f => this.show(span(f));
    const up = f => {
      this.box.removeEventListener('pointermove', move);
      const loop = span(f);
      this.changed(loop[1] - loop[0] >= shortest ? loop : null);
    };
    this.box.addEventListener('pointermove', move);
    this.box.addEventListener('pointerup', up, {once: true});
  }

  show(loop) {
    this.loop.hidden = !loop;
    if (!loop) return;
    this.loop.style.left = 100 * loop[0] / this.seconds + '%';
    this.loop.style.width = 100 * (loop[1] - loop[0]) / this.seconds + '%';
  }

  head(place) { this.mark.style.left = 100 * place / this.seconds + '%'; }
}
