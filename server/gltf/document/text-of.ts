/** Names as far as they are text; more than 200 characters say nothing more. */
export function textOf(value: unknown): string {
  return typeof value === 'string' ? [...value.slice(0, 400)].slice(0, 200).join('') : '';
}
