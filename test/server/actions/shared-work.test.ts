import { describe, expect, it } from 'vitest';
import { shareInFlight } from '../../../server/actions/caching.ts';
import { type CallTurn, getShare, getTurn, makeFor, workFor } from '../../../server/actions/turns.ts';
import { Problem } from '../../../server/core/problems.ts';
import { expectRefusal } from '../../support/refusal.ts';

const turn = () => new Promise((resolve) => setImmediate(resolve));

/** Work that goes on until it is ended, or its callers have left. */
function makeWork() {
  const seen: CallTurn[] = [];
  let end = (_: string) => {};
  const work = () => {
    const caller = getTurn();
    seen.push(caller);
    return new Promise<string>((resolve, reject) => {
      end = resolve;
      const leave = () => reject(new Problem('caller-left', { detail: 'left' }));
      caller.signal?.addEventListener('abort', leave);
    });
  };
  return { seen, work, end: (text: string) => end(text) };
}

function makeCaller(rank: CallTurn['rank']) {
  const gone = new AbortController();
  const caller: CallTurn = { rank, name: rank, signal: gone.signal };
  return { caller, leave: () => gone.abort() };
}

describe('work that several callers wait for', () => {
  it('is done once, with the best of their ranks', async () => {
    const { seen, work, end } = makeWork();
    const guest = workFor(makeCaller('guest').caller, () => shareInFlight('a', work));
    expect(seen.map(({ rank }) => rank)).toEqual(['guest']);
    const person = workFor(makeCaller('person').caller, () => shareInFlight('a', work));
    expect(seen.map(({ rank }) => rank)).toEqual(['person']);
    end('done');
    expect(await Promise.all([guest, person])).toEqual(['done', 'done']);
  });

  it('goes on while one of them waits, and stops when the last has left', async () => {
    const { seen, work, end } = makeWork();
    const [ada, bob] = [makeCaller('person'), makeCaller('guest')];
    const first = workFor(ada.caller, () => shareInFlight('b', work));
    const second = workFor(bob.caller, () => shareInFlight('b', work));
    ada.leave();
    await turn();
    expect(seen[0]!.signal!.aborted).toBe(false);
    expect(seen[0]!.rank).toBe('guest');
    end('done');
    expect(await Promise.all([first, second])).toEqual(['done', 'done']);

    const eve = makeCaller('guest');
    const left = expectRefusal(() => workFor(eve.caller, () => shareInFlight('c', work)), 'caller-left');
    eve.leave();
    await left;
    expect(seen).toHaveLength(2);
  });

  it('is begun again for a caller who comes when it is being stopped', async () => {
    const { seen, work, end } = makeWork();
    const eve = makeCaller('guest');
    const left = expectRefusal(() => workFor(eve.caller, () => shareInFlight('d', work)), 'caller-left');
    eve.leave();
    const later = workFor(makeCaller('person').caller, () => shareInFlight('d', work));
    await left;
    await turn();
    expect(seen).toHaveLength(2);
    end('done');
    expect(await later).toBe('done');
  });
});

it('files of a zip are made for its caller, whoever reads the stream', async () => {
  const ranks: string[] = [];
  async function* files() {
    for (let file = 0; file < 2; file++) {
      ranks.push(getShare());
      yield file;
    }
  }
  for await (const _ of makeFor(makeCaller('guest').caller, files()));
  expect(ranks).toEqual(['guests', 'guests']);
  expect(getShare()).toBe('others');
});
