import { parseAst } from 'vite';
import { lineOf, listChildren, type Node, readLiteral } from './syntax.ts';

/** Attributes of HTML elements that the user reads or hears. */
const READ_ATTRIBUTES = new Set(['title', 'label', 'placeholder', 'aria-label', 'alt', 'aria-description']);
/** Props of components that also contain such a text; on an HTML element `name` is a key. */
const READ_PROPS = new Set([
  ...READ_ATTRIBUTES,
  'name',
  'text',
  'button',
  'otherwise',
  'titlePrefix',
  'caption',
  'heading',
]);
/** Attributes that contain classes, addresses and drawing commands. */
const CODE_ATTRIBUTES = new Set([
  'class',
  'href',
  'd',
  'transform',
  'patternTransform',
  'viewBox',
  'style',
  'key',
  'id',
]);

/** Symbols, units and names of standards. They are the same in every language. */
const SYMBOLS =
  /ΔE00|ΔE|sRGB|Dyeworks|\b(?:px|mm|nm|cm|ppi|GU|kB|MB|GB|Lab|XYZ|GTIN|SHA-256|PNG|JPEG|WebP|TIFF|glTF|GLB|CSV|PDF|UV|in)\b/g;

/**
 * Finds texts for users that are in a source file instead of web/texts.
 * @returns each with its line: `12: Save the finish`
 */
export function findLiteralTexts(source: string, lang: 'ts' | 'tsx'): string[] {
  const found: string[] = [];
  const report = (node: Node, text: string) =>
    found.push(`${lineOf(source, node)}: ${text.replace(/\s+/g, ' ').trim()}`);

  function visit(node: Node, isShown: boolean): void {
    switch (node.type) {
      case 'ImportDeclaration':
      case 'TSLiteralType':
        return;
      case 'JSXText':
        if (hasWord(node.value as string)) report(node, node.value as string);
        return;
      case 'JSXOpeningElement':
        for (const attribute of node.attributes as readonly Node[]) visitAttribute(attribute, isComponent(node));
        return;
      case 'JSXExpressionContainer':
        visitChildren(node, true);
        return;
      case 'Literal':
        if (typeof node.value === 'string' && isText(node.value, isShown)) report(node, node.value);
        return;
      case 'TemplateLiteral': {
        const text = readLiteral(node, ' … ')!;
        if (isText(text, isShown)) report(node, text);
        for (const each of node.expressions as readonly Node[]) visit(each, isShown);
        return;
      }
      // `cond ? 'Shown' : 'also shown'` and `cond && 'shown'` in a shown place
      case 'ConditionalExpression':
        visit(node.test as Node, false);
        visit(node.consequent as Node, isShown);
        visit(node.alternate as Node, isShown);
        return;
      case 'LogicalExpression':
        visit(node.left as Node, isShown && node.operator !== '&&');
        visit(node.right as Node, isShown);
        return;
      default:
        visitChildren(node, false);
    }
  }

  function visitAttribute(attribute: Node, onComponent: boolean): void {
    if (attribute.type !== 'JSXAttribute') {
      visit(attribute, false);
      return;
    }
    const { name, namespace } = attribute.name as Node;
    const full = namespace ? `${(namespace as Node).name}:${(name as Node).name}` : String(name);
    const value = attribute.value as Node | null;
    if (!value || CODE_ATTRIBUTES.has(full)) return;
    const isRead = (onComponent ? READ_PROPS : READ_ATTRIBUTES).has(full);
    if (value.type === 'JSXExpressionContainer') visit(value.expression as Node, isRead);
    else visit(value, isRead);
  }

  function visitChildren(node: Node, isShown: boolean): void {
    for (const { child } of listChildren(node)) visit(child, isShown);
  }

  visit(parseAst(source, { lang }) as unknown as Node, false);
  return found;
}

/** A shown literal is a text if it has a word; any other literal if it reads like a sentence. */
function isText(text: string, isShown: boolean): boolean {
  if (isShown) return hasWord(text);
  return hasWord(text) && /^\p{Lu}\p{L}*,? +\p{L}{2,}/u.test(text);
}

function hasWord(text: string): boolean {
  return /\p{L}{2,}/u.test(text.replace(SYMBOLS, ''));
}

function isComponent(element: Node): boolean {
  const { name } = element.name as Node;
  return typeof name === 'string' && /^[A-Z]/.test(name);
}
