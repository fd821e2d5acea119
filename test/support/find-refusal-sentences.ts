import { parseAst } from 'vite';
import { lineOf, listChildren, type Node, readLiteral } from './syntax.ts';

/** Functions that refuse a call with a sentence among their arguments. */
const REFUSING = /^(?:\w*Problem|refuse|unreadable|broken)$/;

/**
 * Finds sentences of refusals at a call site instead of in `server/core/texts/problems`: the `detail` of a problem, and
 * any complete sentence among the arguments of a function that refuses.
 * @returns each with its line: `12: The file is damaged.`
 */
export function findRefusalSentences(source: string): string[] {
  const found: string[] = [];
  const report = (node: Node, text: string) => found.push(`${lineOf(source, node)}: ${text}`);

  const visit = (node: Node, place: 'elsewhere' | 'refusal' | 'detail'): void => {
    if (node.type === 'ImportDeclaration') return;
    const text = readLiteral(node);
    if (text !== null && place !== 'elsewhere' && isSentence(text, place === 'detail')) report(node, text);
    const { name } = (node.callee ?? {}) as { readonly name?: unknown };
    const refuses = typeof name === 'string' && REFUSING.test(name);
    for (const { key, child } of listChildren(node)) {
      const isDetail = node.type === 'Property' && key === 'value' && place === 'refusal' && nameOf(node) === 'detail';
      visit(child, refuses && key === 'arguments' ? 'refusal' : isDetail ? 'detail' : place);
    }
  };
  visit(parseAst(source, { lang: 'ts' }) as unknown as Node, 'elsewhere');
  return found;
}

function nameOf(property: Node): unknown {
  return (property.key as Node).name;
}

/**
 * A detail must contain no words at all; other arguments, such as the expected value, must contain no complete
 * sentence.
 */
function isSentence(text: string, isDetail: boolean): boolean {
  return isDetail ? /\p{L}{2,} |…: …/u.test(text) : /\p{L}{2,} .*\.$/u.test(text);
}
