import { describe, expect, it } from 'vitest';
import { CALL_LIMITS, createGate, createGuestBudget, findKind } from '../../../server/http/calls-at-once.ts';
import { expectRefusal } from '../../support/refusal.ts';
import { startService } from '../../support/start-service.ts';

const LIMIT = { atOnce: 2, inAll: 3, waiting: 2, waitingInAll: 3 };
const turn = () => new Promise((resolve) => setImmediate(resolve));

/** A gate, and who is inside. */
function open() {
  const gate = createGate(LIMIT);
  const inside: string[] = [];
  const leave = new Map<string, () => void>();
  const enter = async (call: string, signal?: AbortSignal) => {
    const end = await gate.enter({ name: call[0]!, ...(signal && { signal }) });
    inside.push(call);
    leave.set(call, () => {
      inside.splice(inside.indexOf(call), 1);
      end();
    });
  };
  return { inside, enter, leave: (call: string) => leave.get(call)!() };
}

describe('calls at once', () => {
  it('are limited for each caller and in all, and go on in their order', async () => {
    const { inside, enter, leave } = open();
    for (const call of ['a1', 'a2', 'a3', 'b1', 'b2', 'c1']) void enter(call);
    await turn();
    expect(inside).toEqual(['a1', 'a2', 'b1']);
    leave('a1');
    await turn();
    // a3 came first of those that wait
    expect(inside).toEqual(['a2', 'b1', 'a3']);
    leave('b1');
    await turn();
    expect(inside).toEqual(['a2', 'a3', 'b2']);
    leave('a2');
    await turn();
    expect(inside).toEqual(['a3', 'b2', 'c1']);
  });

  it('are refused beyond: to one caller as its own fault, to all as the service’s', async () => {
    const { enter } = open();
    for (const call of ['a1', 'a2', 'a3', 'a4']) void enter(call);
    await expectRefusal(() => enter('a5'), 'too-many-at-once');
    for (const call of ['b1', 'b2']) void enter(call);
    await expectRefusal(() => enter('c1'), 'service-busy');
  });

  it('that wait end with their caller, and leave their place to others', async () => {
    const { inside, enter, leave } = open();
    for (const call of ['a1', 'a2', 'b1']) void enter(call);
    const gone = new AbortController();
    const left = expectRefusal(() => enter('b2', gone.signal), 'caller-left');
    void enter('c1');
    gone.abort();
    await left;
    leave('b1');
    await turn();
    expect(inside).toEqual(['a1', 'a2', 'c1']);
  });

  it('count once, however often they end', async () => {
    const gate = createGate({ ...LIMIT, inAll: 1, waiting: 0, waitingInAll: 0 });
    const end = await gate.enter({ name: 'a' });
    end();
    end();
    const again = await gate.enter({ name: 'a' });
    await expectRefusal(() => gate.enter({ name: 'b' }), 'service-busy');
    again();
  });

  it('leave guests fewer places than persons, and each address a part of them', () => {
    const { picture, guestPicture } = CALL_LIMITS;
    expect(guestPicture.inAll).toBeLessThan(picture.inAll / 4);
    expect(guestPicture.atOnce).toBeLessThanOrEqual(guestPicture.inAll / 3);
  });
});

describe('the budget of guests', () => {
  it('is one of new pictures, by their pixels, and grows with time', async () => {
    let now = 0;
    const budget = createGuestBudget(() => now);
    // four units each: 1024 × 1024 px is four times 512 × 512 px
    for (let picture = 0; picture < 60; picture++) budget.spend('a', 1024 * 1024);
    await expectRefusal(() => budget.spend('a', 64 * 64), 'guest-budget');
    budget.spend('b', 64 * 64);
    now += 2_000;
    budget.spend('a', 64 * 64);
    await expectRefusal(() => budget.spend('a', 64 * 64), 'guest-budget');
  });

  it('is limited for all addresses together, and a clock that is set back does not fill it', async () => {
    let now = 1_000_000;
    const budget = createGuestBudget(() => now);
    for (let address = 0; address < 1200; address++) budget.spend(`a${address}`, 1);
    await expectRefusal(() => budget.spend('another', 1), 'service-busy');
    now -= 500_000;
    await expectRefusal(() => budget.spend('another', 1), 'service-busy');
    now += 1_000;
    budget.spend('another', 1);
  });
});

it('knows every call that costs much by its route', async () => {
  const service = await startService();
  try {
    const { paths } = (await service.call('GET', '/api/openapi.json')).body;
    const costly = /\.(png|webp|jpg|zip|pdf)$|pictures\/\{file\}|files\/\{file\}|swatch\.json$/;
    const calls = Object.entries<object>(paths).flatMap(([path, methods]) =>
      Object.keys(methods).map((method) => ({ method: method.toUpperCase(), path })),
    );
    const pictures = calls.filter(({ method, path }) => method === 'GET' && costly.test(path));
    expect(pictures.length).toBeGreaterThan(12);
    const uploads = calls.filter(({ method, path }) => ['PUT', 'POST'].includes(method) && UPLOADS.test(path));
    expect(uploads).toHaveLength(5);
    for (const { method, path } of [...pictures, ...uploads]) {
      const url = path.replace(/\{(\w+)\}/g, ':$1');
      expect([path, findKind({ method, guest: false, routeOptions: { url } } as never)]).not.toEqual([path, null]);
    }
  } finally {
    await service.close();
  }
});

const UPLOADS = /\/(model|files|repairs|import|take-variants)$/;
