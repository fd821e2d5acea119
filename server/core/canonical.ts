/** A value as text that does not depend on the order of its fields; empty for undefined. */
export function canonical(value: unknown): string {
  return (
    JSON.stringify(value, (_, each: unknown) =>
      isPlain(each) ? Object.fromEntries(Object.entries(each).sort(([a], [b]) => (a < b ? -1 : 1))) : each,
    ) ?? ''
  );
}

/** Whether a value is an object with fields, and not an array. */
export function isPlain(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
