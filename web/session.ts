import { signal } from '@preact/signals';
import { commonTexts } from './texts/common.ts';

/** Calls that wait for a token. */
const waiting: (() => void)[] = [];
/** Whether the token form is shown. */
export const tokenWanted = signal(false);

/** Resolves once the service accepts a token. All waiting calls continue together. */
export function waitForToken(): Promise<void> {
  tokenWanted.value = true;
  return new Promise((resolve) => waiting.push(resolve));
}

/**
 * Sends the token to the service, which stores it in a cookie that scripts cannot read.
 * @returns null on success, else the reason as a sentence
 */
export async function sendToken(token: string): Promise<string | null> {
  let response: Response;
  try {
    response = await fetch('/api/session', {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ token }),
    });
  } catch {
    return commonTexts.errors.unreachable;
  }
  if (!response.ok) {
    return response.status === 401 ? commonTexts.token.wrong : commonTexts.token.refused;
  }
  tokenWanted.value = false;
  for (const go of waiting.splice(0)) go();
  return null;
}

const PERSON = 'person';

/** The name the user gave; every change carries it into the history. Lasts until the tab closes. */
export const person = signal(recallPerson());

export function setPerson(name: string): void {
  person.value = name;
  try {
    sessionStorage.setItem(PERSON, name);
  } catch {
    // without storage, the name lasts until the page closes
  }
}

function recallPerson(): string {
  try {
    return sessionStorage.getItem(PERSON) ?? '';
  } catch {
    return '';
  }
}

/** The header that names the author of a call. Headers carry Latin-1 only, so the name is encoded. */
export function authorHeaders(): Record<string, string> {
  const name = person.value.trim();
  return name === '' ? {} : { 'dyeworks-person': encodeURIComponent(name) };
}
