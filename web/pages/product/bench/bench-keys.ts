import { useEffect } from 'preact/hooks';
import type { ProductModel } from '../product-model.ts';

type Keys = Pick<ProductModel, 'history' | 'save' | 'unsaved'>;

/** What a key does on the bench: undo, redo, save, or null for any other key. Ctrl, or ⌘ on a Mac. */
export function readBenchKey(
  event: Pick<KeyboardEvent, 'key' | 'ctrlKey' | 'metaKey' | 'shiftKey' | 'altKey'>,
  isInField: boolean,
): 'undo' | 'redo' | 'save' | null {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return null;
  const key = event.key.toLowerCase();
  if (key === 's' && !event.shiftKey) return 'save';
  // inside a field the browser undoes what was typed
  if (isInField) return null;
  if (key === 'z') return event.shiftKey ? 'redo' : 'undo';
  return key === 'y' && !event.shiftKey ? 'redo' : null;
}

/** Follows the keys of the whole page. A part of the page that handles a key itself prevents its default. */
export function useBenchKeys(model: Keys): void {
  useEffect(() => {
    const press = (event: KeyboardEvent) => {
      if (event.defaultPrevented) return;
      const action = readBenchKey(event, isField(event.target));
      if (action === null) return;
      event.preventDefault();
      if (action === 'save') {
        if (event.repeat) return;
        // a field that is being typed in commits first, and keeps the focus
        if (isField(event.target)) {
          (event.target as HTMLElement).blur();
          (event.target as HTMLElement).focus({ preventScroll: true });
        }
        if (model.unsaved.value) void model.save();
      } else {
        void model.history[action]();
      }
    };
    window.addEventListener('keydown', press);
    return () => window.removeEventListener('keydown', press);
  }, [model]);
}

const TYPED =
  'input:not([type=checkbox]):not([type=radio]):not([type=file]):not([type=button]), textarea, [contenteditable]';

const isField = (target: EventTarget | null) => target instanceof Element && target.matches(TYPED);
