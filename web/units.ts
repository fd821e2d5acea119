import { signal } from '@preact/signals';
import type { Units } from './format.ts';

const KEY = 'units';

/** The units lengths are shown in; remembered in this browser. */
export const units = signal<Units>(read());

export function setUnits(value: Units): void {
  units.value = value;
  try {
    localStorage.setItem(KEY, value);
  } catch {
    // a browser that keeps nothing shows the choice until the page is left
  }
}

function read(): Units {
  try {
    return localStorage.getItem(KEY) === 'inch' ? 'inch' : 'mm';
  } catch {
    return 'mm';
  }
}
