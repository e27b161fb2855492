/** Who uses the phone, where it is, in which language, and what can be given here. */
import { facilities, phone, readiness } from '../api.js';
import { button, el, linkButton } from '../dom.js';
import { askWhetherOpen, Offline, Refused, session, signIn } from '../server.js';
import { forgetEverything, keep, kept } from '../store.js';
import { language, languages, nameOf, say, useLanguage } from '../texts.js';
import { clock, useTimeZone } from '../time.js';
import { cautions } from './answer.js';
import { show, showAgain } from './frame.js';

/** The key is given once; after that the phone signs itself in. */
export function signInView() {
  const key = el('input', { id: 'key', type: 'password', autocomplete: 'off', autocapitalize: 'off', spellcheck: 'false', 'aria-describedby': 'key-trouble' });
  const wrong = el('p', { id: 'key-trouble', role: 'alert' });
  const enter = async () => {
    wrong.textContent = '';
    try {
      await signIn(key.value);
      if (!location.hash.startsWith('#/referral/')) location.hash = '#/';
      showAgain();
    } catch (error) {
      wrong.textContent = say(error instanceof Refused ? 'sign_in.wrong' : 'sign_in.no_connection');
    }
  };
  const form = el('form.stack', { onsubmit: (event) => { event.preventDefault(); enter(); } }, el('label', { for: 'key' }, say('sign_in.key')), key, wrong, el('button.main', { type: 'submit' }, say('sign_in.enter')));
  show({ title: say('sign_in.title'), content: [form, languageChoice()] });
}

/** Whether a key is needed is the server's to say. @returns {Promise<boolean>} somebody is signed in */
export async function isSignedIn() {
  if (await session()) return true;
  return askWhetherOpen();
}

function languageChoice() {
  return el(
    'div.row',
    { role: 'group', 'aria-label': say('settings.language') },
    Object.entries(languages).map(([code, name]) => button(name, async () => { await keep('language', code); await useLanguage(code); showAgain(); }, { attributes: { lang: code, 'aria-pressed': String(code === language()) } })),
  );
}

async function ours() {
  const list = (await facilities()).value.facilities;
  const own = (await session())?.facilities ?? [];
  return own.length ? list.filter(({ id }) => own.includes(id)) : list;
}

/** Where the phone is. */
export async function placeView() {
  const choose = (place) => async () => {
    await keep('place', place.id);
    await keep('place_name', place.name);
    await keep('zone', place.time_zone);
    await keep('available', []);
    useTimeZone(place.time_zone);
    location.hash = '#/here';
  };
  const list = await ours();
  show({
    title: say('place.title'),
    content: [el('div.stack', {}, list.map((place) => button(place.name, choose(place), { kind: 'large' }))), languageChoice()],
  });
}

/** What this place can give at the moment: nothing counts that nobody has said. */
export async function hereView() {
  const place = await kept('place');
  const known = (await facilities()).value.facilities.find(({ id }) => id === place)?.capabilities ?? [];
  const chosen = new Set(await kept('available'));
  const ready = new Set((await readiness(place).catch(() => ({ readiness: [] }))).readiness.filter(({ state }) => state === 'ready').map(({ capability }) => capability));
  const tiles = known.map((id) => {
    const tile = button(nameOf('capability', id), () => {
      if (chosen.has(id)) chosen.delete(id);
      else chosen.add(id);
      tile.setAttribute('aria-pressed', String(chosen.has(id)));
    }, { attributes: { 'aria-pressed': String(chosen.has(id)), 'data-id': id } });
    return tile;
  });
  const asReported = button(say('here.as_reported'), () => {
    for (const tile of tiles) {
      const id = tile.dataset.id;
      if (ready.has(id)) chosen.add(id);
      tile.setAttribute('aria-pressed', String(chosen.has(id)));
    }
  });
  const save = async () => {
    await keep('available', [...chosen]);
    location.hash = '#/';
  };
  show({
    title: say('here.title'),
    content: [el('p', {}, say('here.why')), ready.size ? asReported : null, el('div.tiles', { role: 'group', 'aria-label': say('here.title') }, tiles), button(say('save'), save, { kind: 'main' })],
  });
}

export async function settingsView() {
  const who = await session();
  const means = (await kept('means')) ?? 'car';
  const readyIn = (await kept('ready_in')) ?? null;
  const canPhone = (await kept('can_phone')) ?? true;
  const set = (name, value) => async () => {
    await keep(name, value);
    showAgain();
  };
  const pick = (name, current, list) => list.map(([value, label]) => button(label, set(name, value), { attributes: { 'aria-pressed': String(value === current) } }));
  const pack = phone()?.packInfo();
  show({
    title: say('settings.title'),
    tab: 'settings',
    content: [
      section(say('settings.language'), languageChoice()),
      section(say('settings.place'), el('div.stack', {}, el('p', {}, (await kept('place_name')) ?? '–'), linkButton(say('settings.change_place'), '#/place'), linkButton(say('here.title'), '#/here'))),
      section(say('settings.means'), el('div.row', {}, pick('means', means, ['on_foot', 'motorcycle', 'car', 'four_wheel_drive'].map((id) => [id, say(`means.${id}`)])))),
      section(say('settings.ready_in'), el('div.row', {}, pick('ready_in', readyIn, [[null, say('ask.unknown')], ...[0, 15, 30, 60, 120].map((count) => [count, say('time.minutes', { count })])]))),
      section(say('settings.phone'), el('div.row', {}, pick('can_phone', canPhone, [[true, say('yes')], [false, say('no')]]))),
      section(say('settings.offline'), el('p', {}, pack ? say('settings.pack', { time: clock(pack.madeAt.getTime()) }) : say('settings.no_pack')), pack ? button(say('settings.pack_save'), savePack) : null, packChoice()),
      who && !who.open ? section(say('settings.who'), el('p', {}, `${who.account} (${nameOf('role', who.role)})`), button(say('settings.sign_out'), async () => { await forgetEverything(); location.hash = '#/'; location.reload(); })) : null,
      section(say('more.cautions'), cautions()),
    ],
  });
}

/** Hands the pack on, as a file that the browser keeps where it keeps what is loaded. */
async function savePack() {
  const address = URL.createObjectURL(await (await import('../offline.js')).packAsFile());
  el('a', { href: address, download: 'waybourne-district.pack' }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}

/** A pack that came on a memory card or from another phone. */
function packChoice() {
  const told = el('p', { role: 'status' });
  const choose = el('input', {
    type: 'file',
    id: 'pack-file',
    onchange: async () => {
      try {
        const { info, isOlder } = await (await import('../offline.js')).packFromFile(choose.files[0]);
        told.textContent = isOlder ? say('settings.pack_is_old') : say('settings.pack_taken', { time: clock(info.madeAt.getTime()) });
      } catch (error) {
        told.textContent = say('settings.pack_bad', { why: error instanceof Offline ? say('sign_in.no_connection') : (error.problem?.detail ?? error.message) });
      }
    },
  });
  return el('div', {}, el('label', { for: 'pack-file' }, say('settings.pack_file')), choose, told);
}

const section = (title, ...content) => el('section.box', {}, el('h2', {}, title), ...content);
