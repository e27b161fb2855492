// The page's words: none is missing in any language, none is left over, and every value stands in each.
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { languages, root } from './support/sample.mjs';

const read = (language) => JSON.parse(readFileSync(join(root, 'page', 'texts', `${language}.json`), 'utf8'));
const catalogues = Object.fromEntries(languages.map((language) => [language, read(language)]));
const forms = (text) => (typeof text === 'string' ? [text] : Object.values(text));
const values = (text) => [...new Set(forms(text).join(' ').match(/\{\w+\}/g) ?? [])].sort();

test('No text is missing in any language, and none is empty', () => {
  const keys = Object.keys(catalogues.en.texts).sort();
  for (const language of languages) {
    assert.deepEqual(Object.keys(catalogues[language].texts).sort(), keys, language);
    for (const [key, text] of Object.entries(catalogues[language].texts)) {
      assert.ok(forms(text).every((form) => form.trim()), `${language} ${key} is empty`);
    }
  }
});

test('Each text names the same values in every language', () => {
  for (const language of languages) {
    for (const [key, text] of Object.entries(catalogues[language].texts)) {
      assert.deepEqual(values(text), values(catalogues.en.texts[key]), `${language} ${key}`);
    }
  }
});

test('Where a number decides, there is a text for each plural form that the language has for whole numbers', () => {
  for (const language of languages) {
    const rules = new Intl.PluralRules(language);
    const needed = new Set(Array.from({ length: 200 }, (_, count) => rules.select(count)));
    for (const [key, text] of Object.entries(catalogues[language].texts)) {
      if (typeof text === 'string') continue;
      for (const form of needed) assert.ok(form in text, `${language} ${key} has no form for "${form}"`);
    }
  }
});

test('Clinical words that no licensed reviewer has seen say so', () => {
  for (const language of languages.filter((one) => one !== 'en')) {
    assert.equal(catalogues[language].review.status, 'awaiting a licensed reviewer');
    for (const kind of ['urgent.', 'sign.', 'caution.', 'choice.']) {
      assert.ok(catalogues[language].review.clinical_keys.includes(kind), kind);
    }
  }
});

test('The cautions are the protocol’s own, word for word', () => {
  for (const language of languages) {
    const { texts } = JSON.parse(readFileSync(join(root, 'triage', 'protocol', `texts.${language}.json`), 'utf8'));
    let compared = 0;
    for (const [key, text] of Object.entries(catalogues[language].texts)) {
      if (!key.startsWith('caution.') || !(`triage.${key}` in texts)) continue;
      assert.equal(text, texts[`triage.${key}`], `${language} ${key}`);
      compared += 1;
    }
    assert.ok(compared >= 11, `${compared} cautions`);
  }
});

test('Every text that the page asks for is in the catalogue', () => {
  const folder = join(root, 'page');
  const sources = [folder, join(folder, 'views')].flatMap((one) => readdirSync(one).filter((name) => name.endsWith('.js')).map((name) => join(one, name)));
  let asked = 0;
  for (const file of sources) {
    for (const [, key] of readFileSync(file, 'utf8').matchAll(/say\('([\w.]+)'/g)) {
      assert.ok(key in catalogues.en.texts, `${file}: ${key}`);
      asked += 1;
    }
  }
  assert.ok(asked > 150, `${asked} texts were found in the sources`);
});

test('No style says something by red, amber or green, and no text points up or down', () => {
  const style = readFileSync(join(root, 'page', 'style.css'), 'utf8');
  for (const [, red, green, blue] of style.matchAll(/#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})\b/gi)) {
    const [r, g, b] = [red, green, blue].map((part) => parseInt(part, 16));
    const isGrey = Math.max(r, g, b) - Math.min(r, g, b) < 60;
    assert.ok(isGrey || b > g, `#${red}${green}${blue} leans to red, yellow or green`);
  }
  for (const language of languages) {
    assert.doesNotMatch(JSON.stringify(catalogues[language]), /[\u2190-\u21ff\u2b00-\u2bff\u25b2\u25bc]/u);
  }
});
