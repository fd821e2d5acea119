import { computed, signal } from '@preact/signals';
import type { SessionAnswer } from '../server/http/contracts/access.ts';
import { accessTexts } from './texts/access.ts';
import { commonTexts } from './texts/common.ts';

/** Calls that wait for a sign-in. */
const waiting: (() => void)[] = [];
/** Whether the sign-in is shown. */
export const tokenWanted = signal(false);

/** Who is signed in, and how people can sign in; null until it is loaded. */
export const session = signal<SessionAnswer | null>(null);

/** The caller of the pages; null without a sign-in. */
export const caller = computed(() => session.value?.caller ?? null);

/** The sign-in name of the person who is signed in; null where no person is proven. */
export const account = computed(() => caller.value?.account ?? null);

/** The name of the signed-in person, who is then the author of every change; null where no person is proven. */
export const provenName = computed(() => caller.value?.name ?? null);

/** Resolves once someone has signed in. All waiting calls continue together. */
export function waitForToken(): Promise<void> {
  tokenWanted.value = true;
  return new Promise((resolve) => waiting.push(resolve));
}

let loading: Promise<void> = Promise.resolve();

/** Resolves once it is known who is signed in, or that the service does not answer. */
export const whenSessionKnown = () => loading;

export function loadSession(): Promise<void> {
  loading = fetchSession();
  return loading;
}

async function fetchSession(): Promise<void> {
  try {
    const response = await fetch('/api/session');
    if (response.ok) session.value = (await response.json()) as SessionAnswer;
  } catch {
    // the calls of the page say that the service does not answer
  }
}

/**
 * Signs in: with a name and a passphrase, or with the token of the service. The service answers with a cookie that scripts
 * cannot read.
 * @returns null on success, else the reason as a sentence
 */
export async function signIn(
  given: { readonly token: string } | { readonly account: string; readonly passphrase: string },
): Promise<string | null> {
  const problem = await post('token' in given ? '/api/session' : '/api/sign-in', given);
  if (problem !== null) return problem;
  await loadSession();
  tokenWanted.value = false;
  for (const go of waiting.splice(0)) go();
  return null;
}

/** Chooses a passphrase with the secret of a link. @returns null on success, else the reason as a sentence */
export function choosePassphrase(secret: string, passphrase: string): Promise<string | null> {
  return post('/api/passphrase', { secret, passphrase });
}

/** True from the moment of a sign-out on: nothing more is kept in this browser. */
export const signedOut = signal(false);

/**
 * Signs out in this browser, and opens the first page again, so that no data stays on the screen.
 * @param forget removes what pages have kept in this browser
 */
export async function signOut(forget: () => Promise<void>): Promise<void> {
  signedOut.value = true;
  await forget();
  await fetch('/api/session', { method: 'DELETE' });
  location.assign('/');
}

async function post(path: string, body: object): Promise<string | null> {
  try {
    const headers = { 'content-type': 'application/json' };
    const response = await fetch(path, { method: 'POST', headers, body: JSON.stringify(body) });
    if (response.ok) return null;
    const { detail } = (await response.json()) as { readonly detail?: string };
    return detail ?? accessTexts.refused;
  } catch {
    return commonTexts.errors.unreachable;
  }
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
  // the service knows a signed-in person, and refuses another name
  return name === '' || provenName.value !== null ? {} : { 'dyeworks-person': encodeURIComponent(name) };
}
