/** Lets a few tasks run at a time, in the order they came; the studio takes one picture after another anyway. */
export interface TaskQueue {
  /** Runs the task when its turn comes; a task whose signal is aborted before that never starts. */
  add<T>(task: () => Promise<T>, signal: AbortSignal): Promise<T>;
}

export function createTaskQueue(atATime: number): TaskQueue {
  const waiting: (() => void)[] = [];
  let running = 0;

  function next(): void {
    while (running < atATime && waiting.length > 0) waiting.shift()?.();
  }

  return {
    add: (task, signal) =>
      new Promise((resolve, reject) => {
        waiting.push(() => {
          if (signal.aborted) {
            reject(signal.reason);
            return;
          }
          running++;
          task()
            .then(resolve, reject)
            .finally(() => {
              running--;
              next();
            });
        });
        next();
      }),
  };
}
