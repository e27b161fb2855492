/**
 * A view that is drawn anew while a finger, a mouse button or a key is down takes the thing away from under
 * it: the press is lost, or the thing that is dragged. Who draws by itself waits until nothing is down.
 */

/** A press whose end is never told (let go outside the window, say) holds for this long: common practice, no source. */
const longestPress = 5000;
const begins = ['pointerdown', 'keydown', 'dragstart'];
const ends = ['pointerup', 'pointercancel', 'keyup', 'dragend'];

let waiting = [];
let isDown = false;
let timer = 0;

function press() {
  isDown = true;
  clearTimeout(timer);
  timer = setTimeout(letGo, longestPress);
}

function letGo() {
  isDown = false;
  clearTimeout(timer);
  const now = waiting;
  waiting = [];
  now.forEach((resolve) => resolve());
}

for (const event of begins) addEventListener(event, press, { capture: true, passive: true });
// The click follows the pointer's end, a drag its cancelling: both come before this.
for (const event of ends) {
  addEventListener(event, () => {
    clearTimeout(timer);
    timer = setTimeout(letGo);
  }, { capture: true, passive: true });
}

/** Resolves as soon as nothing is pressed or dragged: at once, if nothing is. */
export const released = () => (isDown ? new Promise((resolve) => waiting.push(resolve)) : Promise.resolve());
