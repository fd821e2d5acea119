import { useSignal } from '@preact/signals';
import { includesRole } from '../../server/core/access/role.ts';
import { route } from '../router.ts';
import { account, caller, session, signIn, signOut, tokenWanted } from '../session.ts';
import { accessTexts } from '../texts/access.ts';
import { commonTexts } from '../texts/common.ts';
import { Field } from './form.tsx';

const texts = accessTexts.signIn;

/** Asks for a sign-in when the service needs one. Waiting calls then continue by themselves. */
export function SignIn() {
  const problem = useSignal<string | null>(readHouseFault());
  const busy = useSignal(false);
  if (!tokenWanted.value || route.value.page === 'passphrase') return null;
  // a session that ends meanwhile leaves the page in sight, with the person's input
  const isFirst = caller.value === null;
  const ways = session.value?.ways ?? { token: true, passphrase: false, house: null };

  const submit = async (given: Parameters<typeof signIn>[0]) => {
    busy.value = true;
    problem.value = await signIn(given);
    busy.value = false;
  };
  const read = (form: HTMLFormElement, name: string) => (form.elements.namedItem(name) as HTMLInputElement).value;

  return (
    <section class={`notice arrives no-print sign-in${isFirst ? ' alone' : ''}`} aria-label={texts.heading}>
      {isFirst && <h1>{texts.heading}</h1>}
      {ways.passphrase && (
        <form
          class="actions"
          onSubmit={(event) => {
            event.preventDefault();
            const form = event.currentTarget;
            void submit({ account: read(form, 'account').trim(), passphrase: read(form, 'passphrase') });
          }}
        >
          <Field name={texts.account}>
            <input name="account" autocomplete="username" required maxLength={64} spellcheck={false} />
          </Field>
          <Field name={texts.passphrase}>
            <input type="password" name="passphrase" autocomplete="current-password" required size={28} />
          </Field>
          <button type="submit" class="main" disabled={busy.value}>
            {texts.submit}
          </button>
        </form>
      )}
      {ways.house !== null && (
        <p class="actions">
          <a class="button" href="/api/sign-in/house">
            {texts.house(ways.house)}
          </a>
        </p>
      )}
      {ways.token && (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            void submit({ token: read(event.currentTarget, 'token').trim() });
          }}
        >
          <p class="measure">{texts.tokenIntro}</p>
          <div class="actions">
            <Field name={texts.token}>
              <input type="password" name="token" autocomplete="current-password" required size={28} />
            </Field>
            <button type="submit" class={ways.passphrase ? undefined : 'main'} disabled={busy.value}>
              {texts.useToken}
            </button>
          </div>
        </form>
      )}
      <p role="alert">{problem.value}</p>
    </section>
  );
}

/** Why the sign-in of the house sent the browser back without a session; null when it did not. */
function readHouseFault(): string | null {
  const fault = new URLSearchParams(location.search).get('sign-in');
  return fault !== null && fault in texts.houseFaults
    ? texts.houseFaults[fault as keyof typeof texts.houseFaults]
    : null;
}

/** Who is signed in, and the pages for people; in the top bar. */
export function WhoIsHere() {
  const here = caller.value;
  if (!here) return null;
  const { page } = route.value;
  const { who } = accessTexts;
  return (
    <nav class="actions who" aria-label={who.label}>
      {includesRole(here.role, 'owner') && (
        <a href="/people" aria-current={page === 'people' ? 'page' : undefined}>
          {who.people}
        </a>
      )}
      {here.name !== null && (
        <a href="/account" title={who.account} aria-current={page === 'account' ? 'page' : undefined}>
          {here.name}
        </a>
      )}
      {here.by === 'service-token' && <span class="soft">{who.token}</span>}
      {here.by !== 'open' && <SignOut />}
    </nav>
  );
}

/** Signs out. Where edits would be lost with it, it asks first. */
function SignOut() {
  /** Products with edits that only this browser has; null while nothing is asked. */
  const asked = useSignal<number | null>(null);
  const { who } = accessTexts;
  const leave = async () => {
    const drafts = await import('../pages/product/schedule/kept-drafts.ts');
    const products = asked.value === null ? await drafts.countDrafts(account.value) : 0;
    if (products > 0) {
      asked.value = products;
      return;
    }
    await signOut(() => drafts.dropAllDrafts(account.value));
  };
  return (
    <>
      {asked.value !== null && <span role="alert">{who.editsLost(asked.value)}</span>}
      <button type="button" onClick={() => void leave()}>
        {asked.value === null ? who.signOut : who.signOutAnyway}
      </button>
      {asked.value !== null && (
        <button
          type="button"
          onClick={() => {
            asked.value = null;
          }}
        >
          {commonTexts.cancel}
        </button>
      )}
    </>
  );
}
