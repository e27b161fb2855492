/**
 * The dispatcher's map: roads, places, women, vehicles, and the ways that are proposed. A vehicle that is
 * dragged onto a woman is a question: what would it cost?
 */
import { say } from '../texts.js';
import { districtMap } from './map.js';

/** How near a dragged vehicle must come to a woman, in pixels. */
const near = 45;

/**
 * @param {HTMLElement} place
 * @param {(code: string, vehicle: string) => void} dropped
 * @returns {Promise<{draw: (known: any) => void, remove: () => void}>}
 */
export async function planMap(place, dropped) {
  const { L, chart, remove } = await districtMap(place, []);
  const layer = L.layerGroup().addTo(chart);
  let bases = new Map();
  let isDragging = false;
  let latest = null;
  let shown = '';

  const mark = (at, className, letter, name, more = {}) =>
    // Marks may lie over one another: what can be done with them is in the list too, by key.
    L.marker(at, { icon: L.divIcon({ className, html: '', iconSize: [26, 26] }), title: name, keyboard: false, ...more })
      .on('add', ({ target }) => {
        const element = target.getElement();
        element.textContent = letter;
        element.setAttribute('role', 'img');
        element.setAttribute('aria-label', name);
      })
      .addTo(layer);

  const womenOf = (known) => known.referrals.filter(({ at }) => at).map((one) => ({ code: one.code, at: [one.at.latitude, one.at.longitude] }));

  function womanAt(point) {
    const found = womenOf(latest).map((one) => ({ ...one, far: chart.latLngToContainerPoint(one.at).distanceTo(point) }));
    return found.filter(({ far }) => far < near).sort((one, other) => one.far - other.far)[0];
  }

  function vehicle(one) {
    const at = positionOf(one, bases);
    if (!at) return;
    const drawn = mark(at, 'map-vehicle', one.name.slice(0, 1), say('dispatch.vehicle_mark', { name: one.name }), { draggable: true, riseOnHover: true });
    drawn.on('dragstart', () => { isDragging = true; });
    drawn.on('dragend', () => {
      isDragging = false;
      const woman = womanAt(chart.latLngToContainerPoint(drawn.getLatLng()));
      drawn.setLatLng(at);
      draw(latest);
      if (woman) dropped(woman.code, one.id);
    });
  }

  function draw(known) {
    latest = known;
    // What did not change stays as it is, and so does the focus.
    const now = JSON.stringify([known.plan.carried.map(({ geometry, way }) => [geometry, way.vehicles[0]?.id]), known.vehicles.map(({ id, position }) => [id, position?.latitude, position?.longitude]), womenOf(known)]);
    if (isDragging || now === shown) return;
    shown = now;
    layer.clearLayers();
    for (const { geometry, referral, way } of known.plan.carried) {
      if (geometry) L.polyline(geometry.coordinates.map(([x, y]) => [y, x]), { color: '#2b1d4e', weight: 5, opacity: 0.8, interactive: false }).addTo(layer);
      approach(known, referral, way);
    }
    known.vehicles.forEach(vehicle);
    for (const { code, at } of womenOf(known)) mark(at, 'map-woman', code.slice(0, 2), say('dispatch.woman_mark', { code }));
  }

  /** Straight and dashed: which vehicle is meant, and where it hands her over, not which road it takes. */
  function approach(known, code, way) {
    const woman = womenOf(known).find((one) => one.code === code);
    const sent = known.vehicles.find(({ id }) => id === way.vehicles[0]?.id);
    const stops = [sent && positionOf(sent, bases), woman?.at, way.meeting && [way.meeting.latitude, way.meeting.longitude]].filter(Boolean);
    if (woman && stops.length > 1) L.polyline(stops, { color: '#2b1d4e', weight: 2, dashArray: '6 6', interactive: false }).addTo(layer);
  }

  const { facilities } = await import('../api.js');
  bases = new Map((await facilities()).value.facilities.map(({ id, latitude, longitude }) => [id, [latitude, longitude]]));
  return { draw, remove };
}

/** Where it was heard of last; its base before that. */
function positionOf({ position, base }, bases) {
  if (position) return [position.latitude, position.longitude];
  return base.facility ? bases.get(base.facility) : [base.latitude, base.longitude];
}
