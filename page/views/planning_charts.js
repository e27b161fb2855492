/** Charts and marks of the planner's view, drawn as SVG. Nothing is said by colour alone. */
import { say } from '../texts.js';

/** @param {string} tag @param {Record<string, any>} attributes @param {...(Node|string)} children */
export function svg(tag, attributes = {}, ...children) {
  const made = document.createElementNS('http://www.w3.org/2000/svg', tag);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  made.append(...children);
  return made;
}

export const classes = ['in_time', 'beyond', 'no_route', 'unknown'];

/** Each class has a shape of its own; `care` is a place of care. `size` is half its width. */
const shapes = {
  in_time: (size) => svg('circle', { r: size }),
  beyond: (size) => svg('rect', { x: -size, y: -size, width: 2 * size, height: 2 * size }),
  no_route: (size) => svg('path', { d: `M0 ${-1.2 * size} L${1.2 * size} ${size} H${-1.2 * size} Z` }),
  unknown: (size) => svg('path', { d: `M0 ${-1.3 * size} L${1.3 * size} 0 L0 ${1.3 * size} L${-1.3 * size} 0 Z` }),
  care: (size) => svg('path', { d: `M${-size} 0 H${size} M0 ${-size} V${size}` }),
};

/** One mark as a picture of its own. */
export function mark(kind, size) {
  const half = size * 1.5 + 2;
  const shape = shapes[kind](size);
  shape.setAttribute('class', kind);
  shape.setAttribute('stroke-width', kind === 'care' ? 3 : 1.5);
  return svg('svg', { class: 'marks', viewBox: `${-half} ${-half} ${2 * half} ${2 * half}`, width: 2 * half, height: 2 * half, 'aria-hidden': 'true', focusable: 'false' }, shape);
}

const frame = { left: 52, top: 12, width: 460, height: 190 };

/**
 * Lines over a frame: shares of 0 to 1 upwards.
 * @param {string} title what it shows, for whoever does not see it
 * @param {Array<{name: string, dashes?: string, points: Array<[number, number]>}>} lines x from 0 to 1
 * @param {Array<string>} below what stands along the bottom, evenly spaced
 */
export function chart(title, lines, below) {
  const x = (share) => frame.left + frame.width * share;
  const y = (share) => frame.top + frame.height * (1 - share);
  const grid = [0, 0.25, 0.5, 0.75, 1].flatMap((share) => [
    svg('line', { class: 'grid', x1: x(0), x2: x(1), y1: y(share), y2: y(share) }),
    svg('text', { x: x(0) - 6, y: y(share) + 4, 'text-anchor': 'end' }, percent(share)),
  ]);
  const bottom = below.map((text, index) => svg('text', { x: x(index / Math.max(1, below.length - 1)), y: y(0) + 20, 'text-anchor': 'middle' }, text));
  const drawn = lines.flatMap(({ name, dashes = 'none', points }, index) => [
    svg('polyline', { class: 'curve', 'stroke-dasharray': dashes, points: points.map(([across, up]) => `${x(across).toFixed(1)},${y(up).toFixed(1)}`).join(' ') }),
    svg('line', { class: 'curve', 'stroke-dasharray': dashes, x1: x(1) + 10, x2: x(1) + 36, y1: frame.top + 10 + index * 22, y2: frame.top + 10 + index * 22 }),
    svg('text', { x: x(1) + 42, y: frame.top + 14 + index * 22 }, name),
  ]);
  return svg('svg', { class: 'chart', viewBox: '0 0 700 232', role: 'img', 'aria-label': title }, ...grid, ...bottom, ...drawn);
}

export const percent = (share) => (share === null || share === undefined ? '–' : say('planning.percent', { value: Math.round(share * 1000) / 10 }));

/** A chart as a file of its own, with the colours it has on the page. */
export function asFile(picture) {
  const copy = picture.cloneNode(true);
  const looks = { curve: { fill: 'none', stroke: '#0b4a7a', 'stroke-width': 2.5 }, grid: { stroke: '#b4aebe' } };
  copy.setAttribute('xmlns', 'http://www.w3.org/2000/svg');
  for (const [name, look] of Object.entries(looks)) {
    for (const one of copy.querySelectorAll(`.${name}`)) Object.entries(look).forEach(([key, value]) => one.setAttribute(key, value));
  }
  for (const text of copy.querySelectorAll('text')) text.setAttribute('font-family', 'sans-serif');
  for (const text of copy.querySelectorAll('text')) text.setAttribute('font-size', '12');
  return new XMLSerializer().serializeToString(copy);
}
