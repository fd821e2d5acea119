import { signal } from '@preact/signals';
import type { Role } from '../../../server/core/access/role.ts';
import type {
  CredentialsAnswer,
  LinkAnswer,
  NewPersonAnswer,
  PeopleAnswer,
  PersonAnswer,
  PersonChangeBody,
} from '../../../server/http/contracts/access.ts';
import type { AuditAnswer } from '../../../server/http/contracts/audit.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';
import { loadSession } from '../../session.ts';
import { accessTexts } from '../../texts/access.ts';

const texts = accessTexts.people;

/** People, the one that is open, and the audit. */
export function createPeopleModel() {
  const people = signal<readonly PersonAnswer[] | null>(null);
  const open = signal<string | null>(null);
  const credentials = signal<CredentialsAnswer | null>(null);
  const lines = signal<readonly string[]>([]);
  const audit = signal<AuditAnswer['entries']>([]);
  /** `before` of the next page of the audit; null after the last. */
  const older = signal<number | null>(null);
  const problem = signal<string | null>(null);
  const outcome = signal<string | null>(null);
  /** A link to choose a passphrase, shown once. */
  const link = signal<{ readonly name: string; readonly url: string } | null>(null);
  const pathOf = (account: string) => `/api/people/${seg(account)}`;

  async function reload(): Promise<void> {
    people.value = (await get<PeopleAnswer>('/api/people')).people;
    lines.value = (await get<{ lines: { line: string }[] }>('/api/lines')).lines.map(({ line }) => line);
    credentials.value = open.value === null ? null : await get<CredentialsAnswer>(`${pathOf(open.value)}/access`);
    const page = await get<AuditAnswer>('/api/audit?limit=50');
    audit.value = page.entries;
    older.value = page.next;
  }

  async function attempt(work: () => Promise<string | null>): Promise<void> {
    try {
      outcome.value = await work();
      problem.value = null;
      await reload();
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  const showLink = (name: string, { secret }: LinkAnswer) => {
    link.value = { name, url: `${location.origin}/passphrase#${secret}` };
  };

  return {
    people,
    open,
    credentials,
    lines,
    audit,
    older,
    problem,
    outcome,
    link,
    load: () => attempt(async () => null),

    toggle: (account: string) =>
      attempt(async () => {
        open.value = open.value === account ? null : account;
        return null;
      }),

    async add(given: { readonly account: string; readonly name: string; readonly role: Role }): Promise<void> {
      try {
        const { data } = await call<NewPersonAnswer>('POST', '/api/people', { json: given });
        showLink(data.name, data.link);
        outcome.value = texts.added(data.name);
        problem.value = null;
      } catch (error) {
        problem.value = getErrorMessage(error);
        return;
      }
      // after the first person this page, too, needs a sign-in
      await loadSession();
      await attempt(async () => outcome.value);
    },

    change: (person: PersonAnswer, json: PersonChangeBody) =>
      attempt(async () => {
        await call('PATCH', pathOf(person.account), { json });
        return texts.changed(json.name ?? person.name);
      }),

    makeLink: (person: PersonAnswer) =>
      attempt(async () => {
        showLink(person.name, (await call<LinkAnswer>('POST', `${pathOf(person.account)}/link`)).data);
        return null;
      }),

    remove: (person: PersonAnswer, path: string) =>
      attempt(async () => {
        await call('DELETE', `${pathOf(person.account)}${path}`);
        return path === '/sessions' ? texts.ended(person.name) : null;
      }),

    async showOlder(): Promise<void> {
      const page = await get<AuditAnswer>(`/api/audit?limit=50&before=${older.value}`);
      audit.value = [...audit.value, ...page.entries];
      older.value = page.next;
    },
  };
}

export type PeopleModel = ReturnType<typeof createPeopleModel>;
