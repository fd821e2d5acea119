import { parseArgs } from 'node:util';
import { ConfigError } from '../config.ts';

/**
 * Reads a command's arguments: files in order, and options with a value (`string`) or without (`boolean`).
 * @throws ConfigError when something is missing or not known
 */
export function readArguments<K extends string>(
  args: readonly string[],
  files: readonly string[],
  options: Readonly<Record<K, { type: 'string' | 'boolean'; short?: string; needed?: boolean }>>,
): { readonly files: readonly string[]; readonly options: Partial<Record<K, string | boolean>> } {
  let parsed: ReturnType<typeof parseArgs>;
  try {
    parsed = parseArgs({ args: [...args], options, allowPositionals: true, strict: true });
  } catch (error) {
    throw new ConfigError(`${(error as Error).message} See dyeworks --help.`);
  }
  if (parsed.positionals.length !== files.length) {
    throw new ConfigError(
      `This command takes ${files.join(' and ')}; it was given ${parsed.positionals.length || 'nothing'}. See dyeworks --help.`,
    );
  }
  for (const [name, option] of Object.entries(options) as [K, { needed?: boolean; short?: string }][]) {
    if (option.needed && parsed.values[name] === undefined) {
      throw new ConfigError(`--${name}${option.short ? ` (-${option.short})` : ''} is missing. See dyeworks --help.`);
    }
  }
  return { files: parsed.positionals, options: parsed.values as Partial<Record<K, string | boolean>> };
}
