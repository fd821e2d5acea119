import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';

/** Whether this machine has `script` of util-linux, which gives a program a terminal of its own. */
export const HAS_TERMINAL = spawnSync('script', ['--version']).stdout?.toString().includes('util-linux') ?? false;

/**
 * Runs a program in a terminal, and types once it has shown a text.
 * @returns its exit status, and all that the terminal showed
 */
export async function runInTerminal(
  command: readonly string[],
  env: NodeJS.ProcessEnv,
  typed: { readonly after: string; readonly keys: string },
): Promise<{ readonly status: number; readonly shown: string }> {
  const line = command.map((word) => `'${word.replaceAll("'", `'\\''`)}'`).join(' ');
  const child = spawn('script', ['--quiet', '--return', '--command', line, '/dev/null'], { env });
  let shown = '';
  let waits = true;
  child.stdout.on('data', (text) => {
    shown += text;
    if (!waits || !shown.includes(typed.after)) return;
    waits = false;
    child.stdin.write(typed.keys);
  });
  const [status] = await once(child, 'close');
  child.stdin.destroy();
  return { status, shown };
}
