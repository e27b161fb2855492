/**
 * A view that is drawn anew while a finger, a mouse button or a key is down takes the thing away from under
 * it: the press is lost, or the thing that is dragged. Who draws by itself waits until nothing is down.
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
