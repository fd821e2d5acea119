import type { Signal } from '@preact/signals';
import type { Line, Rule } from '../../../server/core/line/line.ts';
import type { GivenRule } from '../../../server/core/line/read-rules.ts';
import type { RulesAnswer } from '../../../server/http/contracts/line.ts';
import { ApiProblem, call, type Reply } from '../../api.ts';

export type LineChange = (line: Line) => Line;
/** @throws Error in words where the change no longer fits */
export type RulesChange = (rules: readonly Rule[]) => readonly GivenRule[];

/** Times a change is made again on a line that somebody else has changed meanwhile. */
const ATTEMPTS = 4;

/**
 * Writes to one line: one after the other, each on the line as the service has it then. What somebody else has changed in
 * between is read, and the change is made again on top of it, so that neither is lost. The page shows what is stored with
 * everything that waits on top.
 */
export function createLineWrites(path: string, line: Signal<Line | null>) {
  let stored: Line | null = null;
  let tag: string | null = null;
  const waiting: LineChange[] = [];
  let last: Promise<unknown> = Promise.resolve();

  function take({ data, etag }: Reply<Line>): void {
    stored = data;
    tag = etag;
    show();
  }

  function show(): void {
    line.value = stored && waiting.reduce((now, change) => change(now), stored);
  }

  /** Does work when what was asked before is over, whichever way that ended. */
  function queue<T>(work: () => Promise<T>): Promise<T> {
    const done = last.then(work);
    last = done.catch(() => undefined);
    return done;
  }

  /** Answers what somebody else has changed since the line was read last, a sentence each. @throws ApiProblem */
  async function insist(write: (line: Line, tag: string | null) => Promise<void>): Promise<readonly string[]> {
    const meanwhile: string[] = [];
    for (let attempt = 1; ; attempt++) {
      try {
        await write(stored!, tag);
        return meanwhile;
      } catch (error) {
        if (!(error instanceof ApiProblem) || error.code !== 'stale-line' || attempt === ATTEMPTS) throw error;
        meanwhile.push(...readChanges(error));
        take(await call<Line>('GET', path));
      }
    }
  }

  function edit(change: LineChange): Promise<readonly string[]> {
    waiting.push(change);
    show();
    return queue(async () => {
      try {
        return await insist(async (now, ifMatch) => {
          const { name, positions, range } = change(now);
          const { data, etag } = await call<Line>('PUT', path, { json: { name, positions, range }, ifMatch });
          stored = data;
          tag = etag;
        });
      } finally {
        waiting.splice(waiting.indexOf(change), 1);
        show();
      }
    });
  }

  function editRules(change: RulesChange): Promise<readonly string[]> {
    return queue(() =>
      insist(async (now, ifMatch) => {
        const json = { rules: change(now.rules) };
        const { data, etag } = await call<RulesAnswer>('PUT', `${path}/rules`, { json, ifMatch });
        take({ data: { ...now, rules: data.rules }, etag });
      }),
    );
  }

  /** Something else that is decided on the line as it is shown: it is not made again on another one. */
  function decide<T>(work: (ifMatch: string | null) => Promise<T>): Promise<T> {
    return queue(() => work(tag));
  }

  return { take, edit, editRules, decide };
}

export type LineWrites = ReturnType<typeof createLineWrites>;

function readChanges({ answer }: ApiProblem): string[] {
  const findings = (answer.findings ?? []) as readonly { readonly message?: string }[];
  return findings.flatMap(({ message }) => (message === undefined ? [] : [message]));
}

/** After a write, what else has changed on the page. */
export function saySaved(meanwhile: readonly string[]): string {
  return meanwhile.length === 0
    ? 'Saved.'
    : `Saved, with what somebody else has changed meanwhile: ${meanwhile.slice(0, 3).join(' ')}${meanwhile.length > 3 ? ' …' : ''}`;
}
