import { signal } from '@preact/signals';
import { useEffect, useMemo } from 'preact/hooks';
import { ROLES, type Role } from '../../../server/core/access/role.ts';
import type { CredentialsAnswer, TokenAnswer } from '../../../server/http/contracts/access.ts';
import { call, get, getErrorMessage } from '../../api.ts';
import { Field, Notice } from '../../parts/form.tsx';
import { Heading } from '../../parts/shell.tsx';
import { caller, session, waitForToken } from '../../session.ts';
import { accessTexts } from '../../texts/access.ts';
import { Credentials } from './credentials.tsx';
import { PassphraseFields } from './passphrase-page.tsx';

const texts = accessTexts.account;

/** The signed-in person: passphrase, sessions and tokens. */
export function AccountPage() {
  const model = useMemo(createAccountModel, []);
  const here = caller.value;
  const isLoaded = session.value !== null;
  useEffect(() => void (isLoaded && model.load()), [model, isLoaded]);
  const own = model.own.value;
  return (
    <>
      <div class="title-line">
        <Heading text={texts.heading} />
        {own && (
          <p class="soft">{texts.summary(own.person.name, own.person.account, accessTexts.roles[own.person.role])}</p>
        )}
      </div>
      {here && here.name === null && <p class="measure">{texts.none}</p>}
      <Notice text={model.problem.value} />
      {own && (
        <div class="access">
          <Credentials
            of={own}
            onDelete={(path) => void model.remove(path)}
            notice={
              <Notice text={model.secret.value && accessTexts.tokens.secret}>
                <code>{model.secret.value}</code>
              </Notice>
            }
          >
            <NewToken roles={ROLES.slice(0, ROLES.indexOf(own.person.role) + 1)} onMake={model.makeToken} />
          </Credentials>
          <section>
            <h2>{texts.change}</h2>
            <form
              class="form"
              onSubmit={(event) => {
                event.preventDefault();
                void model.changePassphrase(event.currentTarget);
              }}
            >
              <Field name={texts.current}>
                <input type="password" name="current" autocomplete="current-password" required />
              </Field>
              <PassphraseFields />
              <div class="actions whole">
                <button type="submit">{texts.change}</button>
              </div>
              <div class="whole">
                <Notice text={model.outcome.value} />
              </div>
            </form>
          </section>
        </div>
      )}
    </>
  );
}

interface NewTokenProps {
  readonly roles: readonly Role[];
  readonly onMake: (form: HTMLFormElement) => Promise<void>;
}

function NewToken({ roles, onMake }: NewTokenProps) {
  const { tokens } = accessTexts;
  return (
    <form
      class="form"
      onSubmit={(event) => {
        event.preventDefault();
        void onMake(event.currentTarget);
      }}
    >
      <Field name={tokens.name}>
        <input name="name" required maxLength={120} />
      </Field>
      <Field name={tokens.scope}>
        <select name="scope">
          {roles.map((role) => (
            <option key={role} value={role}>
              {accessTexts.roles[role]}
            </option>
          ))}
        </select>
      </Field>
      <Field name={tokens.days}>
        <input name="days" type="number" min={1} max={366} value={90} />
      </Field>
      <div class="actions whole">
        <button type="submit">{tokens.make}</button>
      </div>
    </form>
  );
}

function createAccountModel() {
  const own = signal<CredentialsAnswer | null>(null);
  const problem = signal<string | null>(null);
  const outcome = signal<string | null>(null);
  /** A new token, shown once. */
  const secret = signal<string | null>(null);
  const read = (form: HTMLFormElement, name: string) => (form.elements.namedItem(name) as HTMLInputElement).value;

  async function load(): Promise<void> {
    if (caller.value === null) await waitForToken();
    if (caller.value?.name) own.value = await get<CredentialsAnswer>('/api/account');
  }

  async function attempt(show: typeof problem, work: () => Promise<string | null>): Promise<void> {
    try {
      show.value = await work();
      await load();
    } catch (error) {
      show.value = getErrorMessage(error);
    }
  }

  return {
    own,
    problem,
    outcome,
    secret,
    load: () => attempt(problem, async () => null),
    remove: (path: string) =>
      attempt(problem, async () => {
        await call('DELETE', `/api/account${path}`);
        if (path === '/sessions') location.assign('/');
        return null;
      }),
    makeToken: (form: HTMLFormElement) =>
      attempt(problem, async () => {
        const json = { name: read(form, 'name'), scope: read(form, 'scope'), days: Number(read(form, 'days')) };
        const { data } = await call<TokenAnswer>('POST', '/api/account/tokens', { json });
        secret.value = data.secret;
        form.reset();
        return null;
      }),
    changePassphrase: (form: HTMLFormElement) =>
      attempt(outcome, async () => {
        if (read(form, 'passphrase') !== read(form, 'again')) return accessTexts.passphrase.differ;
        const json = { current: read(form, 'current'), passphrase: read(form, 'passphrase') };
        await call('PUT', '/api/account/passphrase', { json });
        form.reset();
        return texts.changed;
      }),
  };
}
