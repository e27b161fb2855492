/**
 * The worker in which the core runs. Takes one message after the other: `{call, name, content}`, and answers
 * `{call, answer: {status, text}}`, without `answer` when the core has stopped and cannot go on.
 */
import { tasks } from './door.js';

// One after the other, although `load` waits in between: no question meets a half-loaded pack.
let last = Promise.resolve();

self.onmessage = ({ data: { call, name, content } }) => {
  last = last.then(async () => {
    try {
      self.postMessage({ call, answer: await tasks[name](content) });
    } catch {
      self.postMessage({ call });
    }
  });
};
