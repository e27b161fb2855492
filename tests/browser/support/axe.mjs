// Accessibility as far as a program can tell: axe-core (Deque, MPL 2.0).
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** What axe-core finds on the view that is shown. */
export async function violations(page) {
  // Through the debugger: the page's own policy lets no text be run as a script.
  const session = await page.context().newCDPSession(page);
  const { result: known } = await session.send('Runtime.evaluate', { expression: 'typeof globalThis.axe' });
  if (known.value === 'undefined') await session.send('Runtime.evaluate', { expression: axe });
  const { result } = await session.send('Runtime.evaluate', {
    expression: "axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }).then((found) => JSON.stringify(found.violations.map(({ id, nodes }) => [id, nodes.map(({ html, failureSummary }) => html + ' ' + failureSummary)])))",
    awaitPromise: true,
  });
  await session.detach();
  return JSON.parse(result.value);
}
