/** A question that must be answered before anything is changed. */
import { button, el } from '../dom.js';
import { say } from '../texts.js';

/**
 * Escape and the second button say no. The focus goes back to where it was.
 * @param {string} title
 * @param {any[]} content
 * @param {string} yes what the button says that makes it so
 * @returns {Promise<boolean>}
 */
export function confirmed(title, content, yes) {
  return new Promise((resolve) => {
    const before = document.activeElement;
    const dialog = el(
      'dialog.confirm',
      { 'aria-labelledby': 'confirm-title', onclose: () => { dialog.remove(); before?.focus?.({ preventScroll: true }); resolve(dialog.returnValue === 'yes'); } },
      el('h2', { id: 'confirm-title', tabindex: '-1' }, title),
      ...content,
      el('div.row', {}, button(yes, () => dialog.close('yes'), { kind: 'main' }), button(say('confirm.no'), () => dialog.close('no'))),
    );
    document.body.append(dialog);
    dialog.showModal();
  });
}
