/**
 * The phone's own core: the same C++ that answers on the server, as WebAssembly in a worker of its own, so
 * that the page stays quick while it works. It answers from a district pack, with no connection.
 *
 *     const core = await openCore();
 *     const info = await core.loadPack(bytes, { publicKey, confirmedAt });
 *     const answer = await core.recommend(request);
 *
 * Everything it refuses it refuses as the server does: as a CoreProblem with the problem details of RFC 9457.
 * docs/phone.md says what is in a pack and whom the phone trusts.
 */

/** What the core refused, or could not do. */
export class CoreProblem extends Error {
  /** @param {{type: string, title: string, status: number, detail: string, errors?: {pointer: string, detail: string}[]}} problem */
  constructor(problem) {
    super(problem.detail);
    this.name = 'CoreProblem';
    this.status = problem.status;
    this.problem = problem;
  }
}

const crashed = {
  type: '/problems/internal',
  title: 'A defect in this program',
  status: 500,
  detail: 'the core on this phone stopped; it starts again with the next question',
};

/** The core, with its worker started; it has no pack yet. */
export async function openCore() {
  const core = new Core();
  await core.ready();
  return core;
}

class Core {
  #worker = null;
  #waiting = new Map();
  #lastCall = 0;
  #pack = null; // { blob, publicKey }, to start again with
  #info = null;
  #confirmedAt = 0;

  /**
   * Takes a pack into use: the bytes of `GET /v1/pack`, or a file. The one before stays in use when this one
   * is refused.
   * @param {ArrayBuffer | Uint8Array | Blob | Response} source
   * @param {{publicKey: string, confirmedAt?: Date | number}} trust the key of `GET /v1/pack-key`, and when
   *   the server last said that this is the pack in force
   */
  async loadPack(source, { publicKey, confirmedAt }) {
    const blob = source instanceof Response || source instanceof Blob ? await toBlob(source) : new Blob([source]);
    const info = await this.#load({ blob, publicKey });
    this.#pack = { blob, publicKey };
    this.#info = { ...info, madeAt: new Date(info.madeAt) };
    this.#confirmedAt = Number(confirmedAt ?? 0);
    return this.#info;
  }

  /** What is known of the pack in use, or null. */
  packInfo() {
    return this.#info;
  }

  /** The server has said again that the pack is in force (200 or 304), at this moment by its own clock. */
  confirm(at) {
    this.#confirmedAt = Math.max(this.#confirmedAt, Number(at));
  }

  /** Milliseconds since the pack was known to be the latest; null without one. Never negative. */
  packAge(now = Date.now()) {
    return this.#info && Math.max(0, Number(now) - Math.max(this.#info.madeAt.getTime(), this.#confirmedAt));
  }

  /** What `POST /v1/assessments` answers. */
  assess(request, options) {
    return this.#parsed('POST', '/v1/assessments', request, options);
  }

  /** What `POST /v1/recommendations` answers. */
  recommend(request, options) {
    return this.#parsed('POST', '/v1/recommendations', request, options);
  }

  /** What `POST /v1/routes` answers. */
  route(request, options) {
    return this.#parsed('POST', '/v1/routes', request, options);
  }

  /** What `GET /v1/protocol` answers. */
  protocol(options) {
    return this.#parsed('GET', '/v1/protocol', undefined, options);
  }

  /** What `GET /v1/facilities` answers. */
  facilities() {
    return this.#parsed('GET', '/v1/facilities');
  }

  /** What `GET /v1/facilities/{id}` answers. */
  facility(id) {
    return this.#parsed('GET', `/v1/facilities/${encodeURIComponent(id)}`);
  }

  /**
   * The answer as the server would send it, byte for byte, refusals included.
   * @param {{now?: Date | number, language?: string}} options `language`: as in `Accept-Language`; else the district's
   * @returns {Promise<{status: number, contentType: string, text: string}>}
   */
  async ask(method, path, body = '', { now = Date.now(), language = '' } = {}) {
    await this.ready();
    const { status, text } = await this.#call('ask', { method, path, body, language, now: Math.floor(Number(now) / 1000) });
    return { status, contentType: status < 400 ? 'application/json' : 'application/problem+json', text };
  }

  /** Ends the worker. */
  close() {
    this.#worker?.terminate();
    this.#worker = null;
    this.#failAll();
  }

  /** Starts the worker, again after it stopped, with the pack that was in use. */
  async ready() {
    if (this.#worker) return;
    this.#worker = new Worker(new URL('./core/worker.js', import.meta.url), { type: 'module' });
    this.#worker.onmessage = ({ data }) => this.#settle(data);
    this.#worker.onerror = () => this.close();
    await this.#call('start', {});
    if (this.#pack) await this.#load(this.#pack);
  }

  async #load({ blob, publicKey }) {
    await this.ready();
    const bytes = await blob.arrayBuffer();
    const size = bytes.byteLength;
    const { status, text } = await this.#call('load', { bytes, publicKey }, [bytes]);
    const value = JSON.parse(text);
    if (status >= 400) throw new CoreProblem(value);
    return {
      district: value.district,
      madeAt: value.made_at,
      version: value.version,
      sha256: value.sha256,
      timeZone: value.time_zone,
      language: value.language,
      facilities: value.facilities,
      reports: value.reports,
      bytes: size,
    };
  }

  async #parsed(method, path, request, options) {
    const { status, text } = await this.ask(method, path, request === undefined ? '' : JSON.stringify(request), options);
    const value = JSON.parse(text);
    if (status >= 400) throw new CoreProblem(value);
    return value;
  }

  #call(name, content, transferred = []) {
    const call = ++this.#lastCall;
    return new Promise((resolve, reject) => {
      this.#waiting.set(call, { resolve, reject });
      this.#worker.postMessage({ call, name, content }, transferred);
    });
  }

  #settle({ call, answer }) {
    const asker = this.#waiting.get(call);
    this.#waiting.delete(call);
    if (answer) asker?.resolve(answer);
    else {
      asker?.reject(new CoreProblem(crashed));
      this.close();
    }
  }

  #failAll() {
    for (const { reject } of this.#waiting.values()) reject(new CoreProblem(crashed));
    this.#waiting.clear();
  }
}

async function toBlob(source) {
  return source instanceof Response ? source.blob() : source;
}
