import type { ValidatorResult } from '../product/survey.ts';

/** The validator's errors by code, each with how often; as far as its messages were kept. */
export function countErrors({ messages }: ValidatorResult): Record<string, number> {
  const counts = new Map<string, number>();
  for (const { code, severity } of messages) if (severity === 0) counts.set(code, (counts.get(code) ?? 0) + 1);
  return Object.fromEntries(counts);
}
