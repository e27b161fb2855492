/**
 * The map: our own drawing of roads, places and the way, from our own data. Nothing is fetched from
 * elsewhere unless the district names an address for pictures.
 */
import * as api from '../api.js';
import { el } from '../dom.js';
import { kept } from '../store.js';
import { nameOf, say } from '../texts.js';
import { wayOf } from '../case.js';
import { clock, kilometres, span } from '../time.js';
import { show, showCase } from './frame.js';

/** How each kind of line is drawn: by width and tone, the widest road last. */
const strokes = {
  motorway: [4.5, '#6b6480'], trunk: [4, '#6b6480'], primary: [3.5, '#7a7389'], secondary: [2.5, '#8a8399'],
  tertiary: [2, '#9b95a8'], river: [5, '#bdd3e2'], ferry: [2, '#5a7f9e', [6, 5]],
};
const small = [1.2, '#aaa4b6'];
const faint = [1, '#b4aebe', [4, 3]];

let loading;
/** Leaflet comes when a map is first looked at. */
function leaflet() {
  loading ??= (async () => {
    if (!document.querySelector('link[href="/page/vendor/leaflet.css"]')) {
      document.head.append(el('link', { rel: 'stylesheet', href: '/page/vendor/leaflet.css' }));
    }
    await import('../vendor/leaflet.js');
    return globalThis.L ?? globalThis.leaflet;
  })();
  loading.catch(() => { loading = undefined; });
  return loading;
}

/** Squares of our own drawing, on canvas: one picture each, however many roads. */
function roads(L, { from, to }) {
  const Layer = L.GridLayer.extend({
    createTile({ z, x, y }, done) {
      const size = 256;
      const scale = Math.min(2, devicePixelRatio || 1);
      const canvas = el('canvas', { width: size * scale, height: size * scale, 'aria-hidden': 'true' });
      api.mapSquare(z, x, y).then(
        (square) => {
          draw(canvas.getContext('2d'), square, (size * scale) / square.units, scale);
          done(null, canvas);
        },
        (error) => done(error, canvas),
      );
      return canvas;
    },
  });
  return new Layer({ minZoom: from, maxZoom: to, keepBuffer: 1 });
}

function draw(context, { lines }, ratio, scale) {
  context.lineCap = 'round';
  context.lineJoin = 'round';
  for (const { class: kind, points } of lines) {
    const [width, tone, dashes = []] = strokes[kind] ?? (['path', 'track'].includes(kind) ? faint : small);
    context.lineWidth = width * scale;
    context.strokeStyle = tone;
    context.setLineDash(dashes.map((dash) => dash * scale));
    context.beginPath();
    let x = 0;
    let y = 0;
    for (let i = 0; i < points.length; i += 2) {
      x += points[i];
      y += points[i + 1];
      if (i === 0) context.moveTo(x * ratio, y * ratio);
      else context.lineTo(x * ratio, y * ratio);
    }
    context.stroke();
  }
}

/**
 * The district's roads as a Leaflet map, with nothing on them yet.
 * @returns {Promise<{L: any, chart: any, whole: number[][]}>} and the corners of the district
 */
export async function ground(place) {
  const [L, about] = await Promise.all([leaflet(), api.mapAbout()]);
  const { bounds, zooms, tiles } = about.value;
  const still = matchMedia('(prefers-reduced-motion: reduce)').matches;
  const chart = L.map(place, { attributionControl: false, zoomControl: false, minZoom: zooms.from, maxZoom: zooms.to, zoomAnimation: !still, fadeAnimation: !still, markerZoomAnimation: !still, inertia: !still });
  L.control.zoom({ zoomInTitle: say('map.in'), zoomOutTitle: say('map.out') }).addTo(chart);
  if (tiles) L.tileLayer(tiles, { minZoom: zooms.from, maxZoom: zooms.to }).addTo(chart);
  roads(L, zooms).addTo(chart);
  const whole = [[bounds.south_west.latitude, bounds.south_west.longitude], [bounds.north_east.latitude, bounds.north_east.longitude]];
  return { L, chart, whole };
}

/**
 * Roads and places on a map that others may draw on.
 * @returns {Promise<{L: any, chart: any, remove: () => void}>}
 */
export async function districtMap(place, ways) {
  const [{ L, chart, whole }, list] = await Promise.all([ground(place), api.facilities()]);
  const here = await kept('place');
  const called = new Set(ways.map(({ facility }) => facility));
  for (const { id, name, latitude, longitude, kind } of list.value.facilities) {
    const main = id === here || called.has(id) || kind === 'hospital';
    const mark = L.circleMarker([latitude, longitude], { radius: main ? 7 : 4, color: '#2b1d4e', weight: 2, fillColor: main ? '#2b1d4e' : '#ffffff', fillOpacity: 1 })
      .bindTooltip(name, { permanent: main, direction: 'auto', className: 'map-name' })
      .addTo(chart);
    // Tab reaches each mark; whoever cannot see it hears its name.
    mark.getElement()?.setAttribute('role', 'img');
    mark.getElement()?.setAttribute('aria-label', name);
  }
  const drawn = L.featureGroup(ways.map(({ line }) => L.polyline(line, { color: '#2b1d4e', weight: 6, opacity: 0.85 }))).addTo(chart);
  chart.fitBounds(ways.length ? drawn.getBounds() : whole, { padding: [12, 12], animate: false });
  return { L, chart, remove: () => chart.remove() };
}

async function open(place, ways) {
  return (await districtMap(place, ways)).remove;
}

const box = (label) => el('div.map', { role: 'region', 'aria-label': label, tabindex: '0' });

/** The whole district. @returns {Promise<() => void>} */
export async function map() {
  const place = box(say('map.own'));
  show({ title: say('map.title'), tab: 'map', content: [place] });
  return open(place, []).catch(() => instead(place));
}

/** Without a connection there is no drawing: say where the words are. */
function instead(place) {
  place.replaceWith(el('p.box.first', {}, say('map.none')));
  return undefined;
}

/** The way of one woman, with the words below it. */
export async function way(one) {
  const { stages } = wayOf(one);
  const ways = stages.map(({ facility, geometry }) => ({ facility, line: geometry.coordinates.map(([longitude, latitude]) => [latitude, longitude]) }));
  const name = stages.at(-1)?.name ?? '';
  const place = box(say('map.way', { name }));
  await showCase(one, {
    title: say('map.way', { name }),
    back: `#/case/${one.id}`,
    content: [el('h2', {}, say('map.way', { name })), place, stages.map(words)],
  });
  return open(place, ways).catch(() => instead(place));
}

/** A stage's way in words. */
export function words({ name, legs, distance_m: far, arrival }) {
  const walked = 50;
  return el(
    'section.box',
    {},
    el('p', {}, el('span.strong', {}, name), ` · ${kilometres(far)} · `, say('where.there', { typical: clock(arrival.typical), allow: clock(arrival.allow) })),
    el('ol', {}, legs.filter(({ distance_m: metres }) => metres > walked).map((leg) => el('li', {}, `${nameOf('means', leg.means)}, ${kilometres(leg.distance_m)}, ${span(leg.travel_time_s.typical * 1000)}${leg.assumed ? ` (${say('more.assumed')})` : ''}: ${roadNames(leg)}`))),
  );
}

/** Each road once in a row, those without a name by their kind. */
function roadNames({ stretches, roads }) {
  const names = stretches.map(({ road, class: kind }) => road || nameOf('road', kind));
  const list = names.length ? names : roads;
  return list.filter((one, index) => one !== list[index - 1]).join(', ');
}
