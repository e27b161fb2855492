/**
 * A view that is drawn anew while a finger, a mouse button or a key is down takes the thing away from under
 * it: the press is lost, or the thing that is dragged. Who draws by itself waits until nothing is down.
 *
 * What a press brings to the spot where it was pressed would take the second tap of a double tap: it is pressed
 * only after a pause.
 */

/** A press whose end is never told (let go outside the window, say) holds for this long: common practice, no source. */
const longestPress = 5000;
const begins = ['pointerdown', 'keydown', 'dragstart', 'drag'];
const ends = ['pointerup', 'pointercancel', 'keyup', 'dragend'];

let waiting = [];
let isDown = false;
/** The pointer of a drag is cancelled when the drag begins; only `dragend` ends it. */
let isDragged = false;
let timer = 0;

function press({ type }) {
  isDown = true;
  if (type.startsWith('drag')) isDragged = true;
  clearTimeout(timer);
  timer = setTimeout(letGo, longestPress);
}

/** The click follows the pointer's end: what waits follows the click. */
function release({ type }) {
  if (isDragged && type !== 'dragend') return;
  clearTimeout(timer);
  timer = setTimeout(letGo);
}

function letGo() {
  isDown = false;
  isDragged = false;
  const now = waiting;
  waiting = [];
  now.forEach((resolve) => resolve());
}

for (const event of begins) addEventListener(event, press, { capture: true, passive: true });
for (const event of ends) addEventListener(event, release, { capture: true, passive: true });

/** Resolves as soon as nothing is pressed or dragged: at once, if nothing is. */
export const released = () => (isDown ? new Promise((resolve) => waiting.push(resolve)) : Promise.resolve());

/** A tap that comes sooner was meant for what stood there before, in milliseconds: common practice, no source. */
const pause = 700;

/**
 * Taps and clicks on `part` count only once what it is about has been on the screen for a moment. By key it is
 * reached as ever: the key's second press goes where the focus is.
 * @template {HTMLElement} Part
 * @param {Part} part before it is shown
 * @param {string} about what is drawn again about the same does not begin its pause anew
 * @returns {Part}
 */
export function afterAPause(part, about) {
  const before = document.querySelector(`[data-about="${CSS.escape(about)}"]`);
  const since = Number(before?.dataset.since ?? performance.now());
  Object.assign(part.dataset, { about, since });
  const left = since + pause - performance.now();
  if (left > 0) {
    part.style.pointerEvents = 'none';
    setTimeout(() => { part.style.pointerEvents = ''; }, left);
  }
  return part;
}
