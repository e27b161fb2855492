/**
 * Making elements. Text is always text: nothing is ever read as HTML.
 */

/**
 * @param {string} tag with classes, e.g. `p.small`
 * @param {Record<string, any>} attributes `on…` are listeners, true and false switch an attribute
 * @param {...(Node|string|number|null|undefined|false|Array<any>)} children empty ones are left out
 * @returns {HTMLElement}
 */
export function el(tag, attributes = {}, ...children) {
  const [name, ...classes] = tag.split('.');
  const made = document.createElement(name);
  if (classes.length) made.className = classes.join(' ');
  for (const [key, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    if (key.startsWith('on')) made.addEventListener(key.slice(2), value);
    else made.setAttribute(key, value === true ? '' : String(value));
  }
  add(made, children);
  return made;
}

/** A mark that French writes after a space never begins a line. */
const unparted = (text) => text.replace(/ (?=[:;?!»])|(?<=«) /g, '\u00a0');

function add(parent, children) {
  for (const child of children) {
    if (Array.isArray(child)) add(parent, child);
    else if (child instanceof Node) parent.append(child);
    else if (child !== null && child !== undefined && child !== false) parent.append(unparted(String(child)));
  }
}

/**
 * A button that cannot be pressed twice while its work is under way: a double tap is one tap.
 * @param {string} label
 * @param {() => (void|Promise<void>)} work
 * @param {{kind?: string, attributes?: Record<string, any>}} [more]
 */
export function button(label, work, { kind = '', attributes = {} } = {}) {
  let busy = false;
  const press = async () => {
    if (busy) return;
    busy = true;
    try {
      await work();
    } finally {
      busy = false;
    }
  };
  return el(`button${kind && `.${kind.split(' ').join('.')}`}`, { type: 'button', ...attributes, onclick: press }, label);
}

/** A link that looks like a button. */
export function linkButton(label, href, { kind = '', attributes = {} } = {}) {
  return el(`a.button${kind && `.${kind.split(' ').join('.')}`}`, { href, ...attributes }, label);
}

/** A number to be tapped; written from left to right in every language. */
export const telephone = (number) => el('a', { href: `tel:${number}`, dir: 'ltr' }, number);

/** Something to open for more. */
export function more(title, ...content) {
  return el('details', {}, el('summary', {}, title), ...content);
}
