import { signal } from '@preact/signals';

export type Units = 'mm' | 'inch';

const UNITS_KEY = 'units';

/** The units in which lengths are shown. The browser remembers them. */
export const units = signal<Units>(recallUnits());

export function setUnits(value: Units): void {
  units.value = value;
  try {
    localStorage.setItem(UNITS_KEY, value);
  } catch {
    // without storage, the choice lasts until the page closes
  }
}

function recallUnits(): Units {
  try {
    return localStorage.getItem(UNITS_KEY) === 'inch' ? 'inch' : 'mm';
  } catch {
    return 'mm';
  }
}
