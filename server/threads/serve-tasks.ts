import { Piscina } from 'piscina';
import { Problem, type ProblemCode, type ProblemDetail } from '../core/problems.ts';

/** The answer of a thread. A `Problem` is passed as plain data. Any other error is a bug and keeps its stack for the log. */
export type TaskAnswer<Result> =
  | { readonly result: Result }
  | { readonly problem: { readonly code: ProblemCode; readonly more: ProblemDetail }; readonly fault?: undefined }
  | { readonly problem?: undefined; readonly fault: string; readonly of?: SystemFault };

/** What Node says of a failed system call. It tells a full disk from a bug. */
export type SystemFault = Pick<NodeJS.ErrnoException, 'code' | 'syscall' | 'path'>;

/**
 * The thread's side of a `ThreadPool`: makes the default export of a worker module.
 * @param run does one task
 * @param listTransfer memory that moves to the caller with a result; without it results are copied
 */
export function serveTasks<Task, Result>(
  run: (task: Task) => Result | Promise<Result>,
  listTransfer?: (result: Result) => readonly ArrayBuffer[],
): (task: Task) => Promise<TaskAnswer<Result>> {
  return async (task) => {
    const answer = await answerWith(async () => run(task));
    return listTransfer && 'result' in answer ? move(answer, listTransfer(answer.result)) : answer;
  };
}

/** Does work, and describes how it ended for another thread. */
export async function answerWith<Result>(work: () => Promise<Result>): Promise<TaskAnswer<Result>> {
  try {
    return { result: await work() };
  } catch (error) {
    if (error instanceof Problem) {
      const { cause: _, ...more } = error.more;
      return { problem: { code: error.code, more } };
    }
    if (!(error instanceof Error)) return { fault: String(error) };
    const { code, syscall, path } = error as NodeJS.ErrnoException;
    return { fault: error.stack ?? error.message, ...(syscall !== undefined && { of: { code, syscall, path } }) };
  }
}

/** The result of work in another thread. @throws what the work threw */
export function readAnswer<Result>(answer: TaskAnswer<Result>): Result {
  if ('result' in answer) return answer.result;
  if (answer.problem) throw new Problem(answer.problem.code, answer.problem.more);
  throw Object.assign(new Error(`in another thread: ${answer.fault}`), answer.of);
}

function move<Answer>(answer: Answer, transfer: readonly ArrayBuffer[]): Answer {
  return Piscina.move({
    [Piscina.transferableSymbol]: transfer,
    [Piscina.valueSymbol]: answer,
  } as never) as never;
}
