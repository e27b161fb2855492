/**
 * The door to the C++: texts and bytes into its memory, answers out of it. Runs in a worker (worker.js) or
 * wherever it is imported.
 */
import { checkedPayload } from './pack.js';
import startCore from './waybourne.js';

const encoder = new TextEncoder();
const decoder = new TextDecoder();

let core = null; // the module, once it is compiled

/** Gives `use` the address of each text, with a zero at its end, for as long as it runs. */
function withTexts(texts, use) {
  const places = [];
  try {
    for (const text of texts) {
      const bytes = encoder.encode(text);
      const place = core._malloc(bytes.length + 1);
      places.push(place);
      core.HEAPU8.set(bytes, place);
      core.HEAPU8[place + bytes.length] = 0;
    }
    return use(places);
  } finally {
    places.forEach((place) => core._free(place));
  }
}

function answer(status) {
  const from = core._core_text();
  return { status, text: decoder.decode(core.HEAPU8.subarray(from, from + core._core_text_bytes())) };
}

function readHeader(file, publicKey) {
  const place = core._core_file(file.length); // may grow the memory: only then look at it
  core.HEAPU8.set(file, place);
  return withTexts([publicKey], ([key]) => answer(core._core_read_header(key)));
}

const refusal = (detail) => ({
  status: 422,
  text: JSON.stringify({
    type: '/problems/unusable-pack',
    title: 'This pack cannot be used',
    status: 422,
    detail: `the pack cannot be used: ${detail}`,
  }),
});

function ask({ method, path, body = '', now, language = '' }) {
  return withTexts([method, path, language, body], ([m, p, l, b]) => answer(core._core_ask(m, p, l, b, encoder.encode(body).length, now)));
}

/**
 * Asks once and drops the answer: what the first question has to wait for (the browser compiles, the core works
 * out how long each road takes now) is done before there is a woman to ask about.
 */
function warmUp() {
  const now = Math.floor(Date.now() / 1000);
  const [place] = JSON.parse(ask({ method: 'GET', path: '/v1/facilities', now }).text).facilities;
  if (!place) return;
  const body = JSON.stringify({ findings: { convulsions: 'yes' }, from: { facility: place.id } });
  ask({ method: 'POST', path: '/v1/recommendations', body, now });
}

/** What the core can be asked to do; each answers `{status, text}`. */
export const tasks = {
  async start() {
    core ??= await startCore({});
    return { status: 200, text: '{}' };
  },

  async load({ bytes, publicKey }) {
    const file = new Uint8Array(bytes);
    const read = readHeader(file, publicKey);
    if (read.status !== 200) return read;
    const header = JSON.parse(read.text);
    const payload = await checkedPayload(file, header);
    if (payload.refused) return refusal(payload.refused);
    core.HEAPU8.set(payload.bytes, core._core_payload(payload.bytes.length));
    const opened = answer(core._core_open());
    if (opened.status !== 200) return opened;
    warmUp();
    return { status: 200, text: JSON.stringify({ ...JSON.parse(opened.text), sha256: header.sha256 }) };
  },

  async ask(question) {
    return ask(question);
  },
};
