import { MessageChannel, type MessagePort } from 'node:worker_threads';
import { answerWith, readAnswer, type TaskAnswer } from './serve-tasks.ts';

/** Functions of whoever gives a task, which its thread may call. Arguments and results are copied. */
export type Callbacks = Readonly<Record<string, (...given: never[]) => Promise<unknown>>>;

interface Question {
  readonly id: number;
  readonly name: string;
  readonly given: readonly never[];
}

interface Reply {
  readonly id: number;
  readonly answer: TaskAnswer<unknown>;
}

/**
 * Answers the calls of a thread.
 * @returns the port for the task, and `close`, to be called when the task has ended
 */
export function offerCallbacks(own: Callbacks): { readonly port: MessagePort; close(): void } {
  const { port1, port2 } = new MessageChannel();
  port1.on('message', async ({ id, name, given }: Question) => {
    const answer = await answerWith(() => own[name]!(...given));
    port1.postMessage({ id, answer } satisfies Reply);
  });
  return { port: port2, close: () => port1.close() };
}

/**
 * The thread's side: functions that call those which were offered, and throw what they throw.
 * @param names of the functions
 */
export function useCallbacks<Offered extends Callbacks>(port: MessagePort, names: readonly (keyof Offered)[]): Offered {
  const waiting = new Map<number, (answer: TaskAnswer<unknown>) => void>();
  let last = 0;
  port.on('message', ({ id, answer }: Reply) => {
    waiting.get(id)?.(answer);
    waiting.delete(id);
  });
  const call =
    (name: string) =>
    async (...given: readonly never[]) => {
      const id = ++last;
      const answer = new Promise<TaskAnswer<unknown>>((resolve) => waiting.set(id, resolve));
      port.postMessage({ id, name, given } satisfies Question);
      return readAnswer(await answer);
    };
  return Object.fromEntries(names.map((name) => [name, call(String(name))])) as unknown as Offered;
}
