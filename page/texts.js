/**
 * The page's words. A catalogue holds a text for each key; where a number decides, one text for each
 * plural form of the language (Intl.PluralRules).
 */

export const languages = { en: 'English', fr: 'Français', sw: 'Kiswahili' };

let current = 'en';
/** @type {Record<string, string|Record<string, string>>} */
let catalogue = {};
let plural = new Intl.PluralRules('en');
let number = new Intl.NumberFormat('en');

export const language = () => current;

/** The first language of the browser that the page speaks. */
export function preferredLanguage() {
  const wanted = (navigator.languages ?? []).map((tag) => tag.slice(0, 2).toLowerCase());
  return wanted.find((tag) => tag in languages) ?? 'en';
}

/** Loads a language; English is kept below it, so that no text is ever missing on the screen. */
export async function useLanguage(code) {
  const chosen = code in languages ? code : 'en';
  const load = async (one) => (await fetch(`/page/texts/${one}.json`)).json();
  const [own, english] = await Promise.all([load(chosen), chosen === 'en' ? {} : load('en')]);
  catalogue = { ...english.texts, ...own.texts };
  current = chosen;
  plural = new Intl.PluralRules(chosen);
  number = new Intl.NumberFormat(chosen);
  document.documentElement.lang = chosen;
  document.documentElement.dir = own.direction ?? 'ltr';
}

export const has = (key) => key in catalogue;

/**
 * @param {string} key
 * @param {Record<string, string|number>} [values] for `{name}`; `count` chooses the plural form
 */
export function say(key, values = {}) {
  let text = catalogue[key];
  if (text === undefined) return key;
  if (typeof text === 'object') text = text[plural.select(Number(values.count))] ?? text.other;
  return text.replace(/\{(\w+)\}/g, (whole, name) => {
    const value = values[name];
    if (value === undefined) return whole;
    return typeof value === 'number' ? number.format(value) : value;
  });
}

/** Care of which any one kind is enough, in words. @param {string[]} any capabilities */
export const careNames = (any) => any.map((id) => nameOf('capability', id)).join(` ${say('or')} `);

/** Names of things that a district may add to: its own word where the catalogue has none. */
export function nameOf(kind, id) {
  const key = `${kind}.${id}`;
  return has(key) ? say(key) : String(id).replaceAll('_', ' ');
}
