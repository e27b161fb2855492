/** For her family: where, by when, what to bring, who travels. Nothing of what is suspected. */
import { wayOf } from '../case.js';
import { button, el, telephone } from '../dom.js';
import { language, say } from '../texts.js';
import { clock } from '../time.js';
import { show } from './frame.js';

export async function family(one) {
  const { assessment } = one.answer?.value ?? {};
  const [stage] = wayOf(one).stages;
  if (!stage) {
    return show({ title: say('family.title'), back: `#/case/${one.id}`, content: [el('p', {}, say('family.nowhere'))] });
  }
  const now = assessment.leave_now || !stage.leave_by || Date.parse(stage.leave_by) <= Date.now();
  const blood = assessment.needs.some(({ any_of: any }) => any.includes('blood_transfusion'));
  const lines = [
    say('family.go', { name: stage.name }),
    now ? say('family.leave_now') : say('family.leave_by', { time: clock(stage.leave_by) }),
    say('family.there_by', { time: clock(stage.arrival.allow) }),
    say('family.bring'),
    blood ? say('family.travel_blood') : say('family.travel'),
    say('family.wait_for_nothing'),
  ];
  return show({
    title: say('family.title'),
    back: `#/case/${one.id}`,
    hidesTitle: true,
    lead: [el('h1.who', { tabindex: '-1' }, say('family.title')), el('span.since', {}, say('case.woman', { letter: one.letter }))],
    content: [
      el('div.family', {}, el('div', {}, el('p', {}, say('family.where')), el('p.place', {}, stage.name)), lines.slice(1).map((line) => el('p', {}, line)), stage.phones[0] ? el('p', {}, telephone(stage.phones[0])) : null),
      readAloud(lines),
      el('p.small', {}, say('family.proposal')),
    ],
  });
}

/**
 * Only where the phone itself has a voice for this language, and only this screen: a voice that is not on the phone
 * would send the words elsewhere. Browsers tell of their voices a while after they are first asked.
 */
function readAloud(lines) {
  const voices = globalThis.speechSynthesis;
  if (!voices) return null;
  const place = el('div.stack');
  const offer = () => {
    const voice = voices.getVoices().find(({ lang, localService: isHere }) => isHere && lang.toLowerCase().startsWith(language()));
    if (voice && !place.firstChild) place.append(reader(lines, voice));
  };
  offer();
  voices.addEventListener?.('voiceschanged', offer);
  addEventListener('hashchange', () => {
    voices.removeEventListener?.('voiceschanged', offer);
    voices.cancel();
  }, { once: true });
  return place;
}

function reader(lines, voice) {
  let speaking = false;
  const press = button(say('family.read'), () => {
    speechSynthesis.cancel();
    if (speaking) {
      speaking = false;
    } else {
      const words = new SpeechSynthesisUtterance(lines.join(' '));
      words.voice = voice;
      words.lang = voice.lang;
      words.rate = 0.9;
      words.onend = () => { speaking = false; press.textContent = say('family.read'); };
      speaking = true;
      speechSynthesis.speak(words);
    }
    press.textContent = say(speaking ? 'family.stop' : 'family.read');
  });
  return press;
}
