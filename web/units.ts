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
    // without storage, the choice lasts until the page closes
  }
}

function read(): Units {
  try {
    return localStorage.getItem(KEY) === 'inch' ? 'inch' : 'mm';
  } catch {
    return 'mm';
  }
}
