/** A node of a syntax tree from Vite, with the fields that these checks read. */
export interface Node {
  readonly type: string;
  readonly start: number;
  readonly end: number;
  readonly [key: string]: unknown;
}

function isNode(value: unknown): value is Node {
  return typeof value === 'object' && value !== null && typeof (value as Partial<Node>).type === 'string';
}

/** The nodes directly below a node, each with the property that contains it. */
export function listChildren(node: Node): { readonly key: string; readonly child: Node }[] {
  return Object.entries(node).flatMap(([key, value]) =>
    (Array.isArray(value) ? value : [value]).filter(isNode).map((child) => ({ key, child })),
  );
}

/** The text of a string or template, with `…` for each value of a template; null for any other node. */
export function readLiteral({ type, value, quasis }: Node, gap = '…'): string | null {
  if (type === 'Literal') return typeof value === 'string' ? value : null;
  if (type !== 'TemplateLiteral') return null;
  const pieces = quasis as readonly { readonly value: { readonly cooked: string } }[];
  return pieces.map((piece) => piece.value.cooked).join(gap);
}

/** The line of a source where a node starts, from 1. */
export function lineOf(source: string, { start }: Node): number {
  return source.slice(0, start).split('\n').length;
}
