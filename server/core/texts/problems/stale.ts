import type { ProblemTexts } from '../../problems.ts';

/** What happened to a stored thing since a person or program read it. */
export type Since = 'changed' | 'deleted' | 'added';

const describe = (thing: string, since: Since) => {
  switch (since) {
    case 'changed':
      return `${thing} has changed since you opened it, so your change was not saved. Load it again and repeat the change.`;
    case 'deleted':
      return `${thing} was deleted since you opened it, so your change was not saved. Create it again if you need it.`;
    case 'added':
      return `${thing} exists already, so your change was not saved. Load it and repeat the change.`;
  }
};

/** Texts about changes that were based on an earlier state. */
export const STALE_PROBLEMS = {
  'stale-finish': (code: string, since: Since) => describe(`The finish ${code}`, since),
  'stale-article': (code: string, since: Since) => describe(`The article ${code}`, since),
  'stale-line': (code: string, since: Since) => describe(`The line ${code}`, since),
  'stale-product': (code: string, since: Since) => describe(`The product ${code}`, since),
  'stale-slot': (key: string, since: Since) => describe(`The slot ${key}`, since),
  'stale-schedule': (product: string, since: Since) => describe(`The schedule of ${product}`, since),
  'stale-preparation': (product: string, since: Since) => describe(`The preparation of ${product}`, since),
  'stale-picture-set': (code: string, since: Since) => describe(`The picture set ${code}`, since),
  'stale-budget': (name: string, since: Since) => describe(`The size budget ${name}`, since),
} as const satisfies ProblemTexts;

/** The changes that others made in the meantime. */
export const addChanges = (text: string, changes: string) => `${text} Changes since then: ${changes}`;
