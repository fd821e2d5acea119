import type { Signal } from '@preact/signals';
import type { Line, Rule } from '../../../server/core/line/line.ts';
import type { GivenRule } from '../../../server/core/line/rules.ts';
import type { RulesAnswer } from '../../../server/http/contracts/line.ts';
import { ApiProblem, call, type Reply } from '../../api.ts';
import { lineTexts } from '../../texts/line.ts';
import type { LineChange } from './line-changes.ts';

/** @throws Error with a message for the user if the change no longer fits */
export type RulesChange = (rules: readonly Rule[]) => readonly GivenRule[];

/** Attempts to apply a change to a line that someone else keeps changing. */
const ATTEMPTS = 4;

/**
 * Writes to one line, one at a time. If someone else has changed the line in between, the write reads it again and applies
 * its change on top, so that neither change is lost. The page shows the stored line with all waiting changes applied.
 */
export function createLineWrites(path: string, line: Signal<Line | null>) {
  let stored: Line | null = null;
  let tag: string | null = null;
  const waiting: LineChange[] = [];
  let last: Promise<unknown> = Promise.resolve();

  function receive({ data, etag }: Reply<Line>): void {
    stored = data;
    tag = etag;
    show();
  }

  function show(): void {
    line.value = stored && waiting.reduce((now, change) => change(now), stored);
  }

  /** Runs work once everything queued before has ended, with or without success. */
  function queue<T>(work: () => Promise<T>): Promise<T> {
    const done = last.then(work);
    last = done.catch(() => undefined);
    return done;
  }

  /** Repeats a write until it fits. @returns other people's changes since the last read, one sentence each @throws ApiProblem */
  async function retryOnStale(write: (line: Line, tag: string | null) => Promise<void>): Promise<readonly string[]> {
    const meanwhile: string[] = [];
    for (let attempt = 1; ; attempt++) {
      try {
        await write(stored!, tag);
        return meanwhile;
      } catch (error) {
        if (!(error instanceof ApiProblem) || error.code !== 'stale-line' || attempt === ATTEMPTS) throw error;
        meanwhile.push(...readChanges(error));
        receive(await call<Line>('GET', path));
      }
    }
  }

  function edit(change: LineChange): Promise<readonly string[]> {
    waiting.push(change);
    show();
    return queue(async () => {
      try {
        return await retryOnStale(async (now, ifMatch) => {
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
      retryOnStale(async (now, ifMatch) => {
        const json = { rules: change(now.rules) };
        const { data, etag } = await call<RulesAnswer>('PUT', `${path}/rules`, { json, ifMatch });
        receive({ data: { ...now, rules: data.rules }, etag });
      }),
    );
  }

  /** An action that the user decided on the line as shown; it is never repeated on a changed line. */
  function decide<T>(work: (ifMatch: string | null) => Promise<T>): Promise<T> {
    return queue(() => work(tag));
  }

  return { receive, edit, editRules, decide };
}

export type LineWrites = ReturnType<typeof createLineWrites>;

function readChanges({ answer }: ApiProblem): string[] {
  const findings = (answer.findings ?? []) as readonly { readonly message?: string }[];
  return findings.flatMap(({ message }) => (message === undefined ? [] : [message]));
}

/** Most of other people's changes that a message lists. */
const LISTED_CHANGES = 3;

/** Reports a write, with other people's changes that the page now shows. */
export function describeSaved(meanwhile: readonly string[]): string {
  if (meanwhile.length === 0) return lineTexts.saved;
  return lineTexts.savedWithChanges(meanwhile.slice(0, LISTED_CHANGES), meanwhile.length > LISTED_CHANGES);
}
