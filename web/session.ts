import { signal } from '@preact/signals';

/** Calls that wait for a token; the form shows while there are any. */
const waiting: (() => void)[] = [];
export const tokenWanted = signal(false);

/** Resolves when a token was taken. Calls that come in meanwhile wait together. */
export function waitForToken(): Promise<void> {
  tokenWanted.value = true;
  return new Promise((resolve) => waiting.push(resolve));
}

/** Gives the token to the service, which keeps it in a cookie scripts cannot read. Null when it was taken, else why not. */
export async function giveToken(token: string): Promise<string | null> {
  let response: Response;
  try {
    response = await fetch('/api/session', {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ token }),
    });
  } catch {
    return 'The service does not answer. See whether it is running, then try again.';
  }
  if (!response.ok) {
    return response.status === 401
      ? 'This is not the token the service was started with. Ask whoever runs it.'
      : 'The service did not take the token. Try again.';
  }
  tokenWanted.value = false;
  for (const go of waiting.splice(0)) go();
  return null;
}

const PERSON = 'person';

/** Who sits here, as they say themselves: goes with every change into the history. Kept until the tab is closed. */
export const person = signal(recallPerson());

export function setPerson(name: string): void {
  person.value = name;
  try {
    sessionStorage.setItem(PERSON, name);
  } catch {
    // a browser that keeps nothing knows it until the page is left
  }
}

function recallPerson(): string {
  try {
    return sessionStorage.getItem(PERSON) ?? '';
  } catch {
    return '';
  }
}

/** How a call says who makes it; headers carry Latin letters only, so that the name is encoded. */
export function authorHeaders(): Record<string, string> {
  const name = person.value.trim();
  return name === '' ? {} : { 'dyeworks-person': encodeURIComponent(name) };
}
