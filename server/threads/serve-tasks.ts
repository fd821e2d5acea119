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
    try {
      const result = await run(task);
      const answer: TaskAnswer<Result> = { result };
      return listTransfer ? move(answer, listTransfer(result)) : answer;
    } catch (error) {
      if (error instanceof Problem) {
        const { cause: _, ...more } = error.more;
        return { problem: { code: error.code, more } };
      }
      if (!(error instanceof Error)) return { fault: String(error) };
      const { code, syscall, path } = error as NodeJS.ErrnoException;
      return { fault: error.stack ?? error.message, ...(syscall !== undefined && { of: { code, syscall, path } }) };
    }
  };
}

function move<Answer>(answer: Answer, transfer: readonly ArrayBuffer[]): Answer {
  return Piscina.move({
    [Piscina.transferableSymbol]: transfer,
    [Piscina.valueSymbol]: answer,
  } as never) as never;
}
