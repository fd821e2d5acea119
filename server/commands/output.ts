import { writeFile } from 'node:fs/promises';
import { replaceFile } from './replace-file.ts';
import { RESULT_TEXTS } from './texts.ts';

/** The result of a command for programs: one JSON document on the standard output. */
export function printJson(value: unknown): void {
  console.log(JSON.stringify(value, null, 2));
}

/**
 * Shows on a terminal how far long work is, in one line that the next one replaces. Files and pipes get nothing of it.
 * @param total undefined where nobody knows it
 */
export function createProgress(total?: number, terminal: NodeJS.WriteStream = process.stderr) {
  let done = 0;
  return {
    step(): void {
      done++;
      if (terminal.isTTY) terminal.write(`\r${RESULT_TEXTS.progress(done, total)}`);
    },
    end(): void {
      if (terminal.isTTY && done > 0) terminal.write('\r\u001b[K');
    },
  };
}

/** Writes a whole file, or leaves what was there. */
export async function writeOutput(path: string, bytes: Uint8Array | string): Promise<void> {
  await replaceFile(path, (partPath) => writeFile(partPath, bytes));
}
