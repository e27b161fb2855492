/** What the sections of the planner's view share: the question, tables, files to keep. */
import { button, el, more } from '../dom.js';
import { nameOf, say } from '../texts.js';
import { trouble } from './frame.js';
import { asFile } from './planning_charts.js';

const signalFunctions = ['parenteral_antibiotics', 'uterotonics', 'magnesium_sulfate', 'manual_placenta_removal', 'uterine_evacuation', 'assisted_vaginal_delivery', 'newborn_resuscitation'];
/** What can be asked about: one kind of care, or several that must be at one place. */
export const care = {
  operative_delivery: ['operative_delivery'],
  blood_transfusion: ['blood_transfusion'],
  caesarean_and_blood: ['operative_delivery', 'blood_transfusion'],
  basic: signalFunctions,
  comprehensive: [...signalFunctions, 'operative_delivery', 'blood_transfusion'],
  ...Object.fromEntries(signalFunctions.map((one) => [one, [one]])),
};
export const careName = (id) => (care[id].length === 1 ? nameOf('capability', id) : say(`planning.care.${id}`));

/** What stays while one looks elsewhere and comes back. */
export const asked = { care: 'operative_delivery', within: 120, surface: 'wet', light: 'day', readiness: 'as_registered', transport: 'at_hand' };

/** What places have room for, as a file of the planner's says; it goes with every question. */
let capacities = [];

export function setCapacities(rows) {
  capacities = rows;
}

/** What other sections give the report: plans side by side, and what facilities counted. */
export const forReport = { scenarios: () => [], indicators: async () => ({}) };

/** @param {Record<string, any>} more what a question holds besides */
export const question = (more = {}) => ({
  needs: care[asked.care],
  within_minutes: Number(asked.within),
  readiness: asked.readiness,
  transport: asked.transport,
  road_conditions: { surface: asked.surface, light: asked.light },
  ...(capacities.length > 0 && { capacities }),
  ...more,
});

export const births = (count) => say('planning.births', { count: Math.round(count) });

/** A file for the planner to keep. */
export function save(name, text, type) {
  const address = URL.createObjectURL(new Blob([text], { type }));
  const link = el('a', { href: address, download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}

const csvCell = (value) => (/[",\n]/.test(String(value ?? '')) ? `"${String(value).replaceAll('"', '""')}"` : String(value ?? ''));
export const csv = (rows) => rows.map((row) => `${row.map(csvCell).join(',')}\n`).join('');

export function select(name, values, words) {
  const field = el('select', { name }, values.map((value) => el('option', { value, selected: String(asked[name]) === String(value) }, words(value))));
  return el('label', {}, say(`planning.${name}`), field);
}

/** @param {Array<string>} headings @param {Array<Array<any>>} rows @param {number} numbersFrom the first column of numbers */
export function table(label, headings, rows, numbersFrom = 1) {
  const cell = (tag) => (content, index) => el(index >= numbersFrom ? `${tag}.number` : tag, tag === 'th' ? { scope: 'col' } : {}, content);
  return el('div.table', { role: 'region', 'aria-label': label, tabindex: '0' }, el('table', {}, el('thead', {}, el('tr', {}, headings.map(cell('th')))), el('tbody', {}, rows.map((row) => el('tr', {}, row.map(cell('td')))))));
}

/** A chart with the button that keeps it. */
export const kept = (picture, file) => [picture, button(say('planning.keep_chart'), () => save(`${file}.svg`, asFile(picture), 'image/svg+xml'), { kind: 'plain' })];

/**
 * A section that is worked out when it is asked for; what went wrong stands where the answer would. What was asked
 * last is what is shown.
 */
export function section(title, controls, work) {
  const answer = el('div.stack', { 'aria-live': 'polite' });
  let turn = 0;
  const run = async () => {
    const mine = (turn += 1);
    const tell = (...content) => mine === turn && answer.replaceChildren(...content);
    tell(el('p', {}, say('planning.working')));
    try {
      tell(...[await work()].flat(9).filter(Boolean));
    } catch (error) {
      tell(trouble(error.message, run));
    }
  };
  return { run, node: more(title, el('div.stack', {}, ...controls(run)), answer) };
}

/** Comma-separated values with a line of headings, as rows of a question; these columns are texts. */
export function rowsOf(text, texts) {
  const [head = [], ...lines] = text.split(/\r?\n/).filter((line) => line.trim()).map((line) => line.split(',').map((cell) => cell.trim().replace(/^"|"$/g, '')));
  return lines.map((cells) => Object.fromEntries(head.flatMap((name, index) => (cells[index] === '' || cells[index] === undefined ? [] : [[name, texts.includes(name) ? cells[index] : Number(cells[index])]]))));
}
