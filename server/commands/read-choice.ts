import { ConfigError } from '../config.ts';

/** One of some words as an option has it; undefined where the option is not given. @throws ConfigError */
export function readChoice<T extends string>(
  name: string,
  value: string | boolean | undefined,
  choices: readonly T[],
): T | undefined {
  if (value === undefined) return undefined;
  const chosen = choices.find((choice) => choice === value);
  if (chosen !== undefined) return chosen;
  throw new ConfigError(`--${name} takes ${choices.join(', ')}, not “${value}”.`);
}
