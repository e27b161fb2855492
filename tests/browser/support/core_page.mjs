// An empty page of one origin that can load the core, and nothing from anywhere else.
import { createServer } from 'node:http';
import { readFileSync } from 'node:fs';
import { dirname, extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

export const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..', '..');
const page = join(root, 'page');
const types = { '.js': 'text/javascript', '.wasm': 'application/wasm' };
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self'; connect-src 'self'; base-uri 'none'; frame-ancestors 'none'";
const flags = [
  '--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
  '--disable-component-update', '--disable-sync',
];

function fileOf(path) {
  if (path === '/page/vendor/noble-ed25519.js') return join(page, 'node_modules', '@noble', 'ed25519', 'index.js');
  return /^\/page\/(core\/)?[a-z.-]+$/.test(path) ? join(page, path.slice('/page/'.length)) : undefined;
}

/** @returns {Promise<{address: string, packs: Map<string, Buffer>, requests: string[], close: () => void}>} */
export async function serveCore() {
  const packs = new Map();
  const server = createServer((request, response) => {
    response.setHeader('Content-Security-Policy', policy);
    const pack = packs.get(request.url);
    const file = fileOf(request.url);
    if (pack) response.end(pack);
    else if (request.url === '/') response.setHeader('Content-Type', 'text/html').end('<!doctype html><title>core</title>');
    else if (file) response.setHeader('Content-Type', types[extname(file)]).end(readFileSync(file));
    else response.writeHead(404).end();
  });
  await new Promise((resolve) => server.listen(0, '127.0.0.1', resolve));
  return { address: `http://127.0.0.1:${server.address().port}`, packs, close: () => server.close() };
}

/** A browser that knows nothing yet, on the empty page. */
export async function openPage(address, memory) {
  const context = await chromium.launchPersistentContext(memory, {
    executablePath: process.env.WAYBOURNE_BROWSER ?? '/usr/bin/chromium', args: flags,
  });
  const tab = context.pages()[0] ?? (await context.newPage());
  const errors = [];
  tab.on('pageerror', (error) => errors.push(error.message));
  tab.on('console', (message) => message.type() === 'error' && errors.push(message.text()));
  await tab.goto(`${address}/`);
  return { context, tab, errors };
}
