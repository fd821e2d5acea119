/** Texts for one thing in several languages: `name` as stored, `names` by language tag (BCP 47). */
export interface Named {
  readonly name: string;
  readonly names?: Readonly<Record<string, string>>;
}

/** Facts about a picture, for people who open the file later. */
export interface PictureFacts {
  /** Null for swatches: a finish belongs to no single product. */
  readonly product: (Named & { readonly code: string; readonly gtin?: string }) | null;
  /** Null for swatches. */
  readonly variant: Named | null;
  /** In the order of the slots; `part` is the slot's label, null for swatches. */
  readonly finishes: readonly (Named & { readonly code: string; readonly part: string | null })[];
  /** Program and version. */
  readonly tool: string;
}

/** Namespaces as XMP part 1 (ISO 16684-1) and the IPTC Photo Metadata Standard name them. */
const NAMESPACES = {
  rdf: 'http://www.w3.org/1999/02/22-rdf-syntax-ns#',
  dc: 'http://purl.org/dc/elements/1.1/',
  xmp: 'http://ns.adobe.com/xap/1.0/',
  Iptc4xmpExt: 'http://iptc.org/std/Iptc4xmpExt/2008-02-29/',
} as const;

/**
 * The kind of source, in IPTC's vocabulary of digital source types: made on a computer without generative tools.
 * Readers must be able to tell it from a photograph.
 */
const SOURCE_TYPE = 'http://cv.iptc.org/newscodes/digitalsourcetype/digitalCreation';

/**
 * Writes an XMP packet (ISO 16684-1 §7) for a picture file: title, description, key words, the product shown (IPTC
 * Photo Metadata, Extension, “Product Shown in the Image”) and the program. It has no dates, so equal pictures are
 * equal files. Escapes text and leaves out characters that XML cannot hold.
 */
export function writeXmp({ product, variant, finishes, tool }: PictureFacts): string {
  const titled: readonly Named[] = product ? [product, ...(variant ? [variant] : [])] : finishes;
  const title = (tag: string | null) => titled.map((part) => nameIn(part, tag)).join(', ');
  const listFinishTexts = (tag: string | null) =>
    finishes.map(
      (finish) => `${finish.part === null ? '' : `${finish.part}: `}${nameIn(finish, tag)} (${finish.code})`,
    );
  const words = new Set([
    ...(product ? [product.code, product.name] : []),
    ...finishes.flatMap(({ name, code }) => [name, code]),
  ]);
  const ofTitle = listTags(titled);
  const body = [
    element('dc:title', alternatives(title, ofTitle)),
    ...(finishes.length > 0
      ? [
          element(
            'dc:description',
            alternatives((tag) => listFinishTexts(tag).join('; '), listTags(finishes)),
          ),
        ]
      : []),
    element('dc:subject', bag([...words].map(toXml))),
    element('xmp:CreatorTool', toXml(tool)),
    element('Iptc4xmpExt:DigitalSourceType', SOURCE_TYPE),
    ...(product
      ? [
          element(
            'Iptc4xmpExt:ProductInImage',
            `<rdf:Bag><rdf:li rdf:parseType="Resource">${describeProduct(product)}</rdf:li></rdf:Bag>`,
          ),
        ]
      : []),
  ];
  const spaces = Object.entries(NAMESPACES).map(([prefix, uri]) => ` xmlns:${prefix}="${uri}"`);
  return [
    // XMP uses the byte order mark to state the packet's encoding.
    '<?xpacket begin="\uFEFF" id="W5M0MpCehiHzreSzNTczkc9d"?>',
    `<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF${spaces[0]}>`,
    `<rdf:Description rdf:about=""${spaces.slice(1).join('')}>`,
    ...body,
    '</rdf:Description></rdf:RDF></x:xmpmeta>',
    '<?xpacket end="r"?>',
  ].join('\n');
}

function describeProduct(product: NonNullable<PictureFacts['product']>): string {
  return [
    element(
      'Iptc4xmpExt:ProductName',
      alternatives((tag) => nameIn(product, tag), listTags([product])),
    ),
    ...(product.gtin ? [element('Iptc4xmpExt:ProductGTIN', toXml(product.gtin))] : []),
  ].join('');
}

/** The name in a language, or the stored name if that language has none. */
function nameIn({ name, names }: Named, tag: string | null): string {
  return tag !== null && names && Object.hasOwn(names, tag) ? names[tag]! : name;
}

/** Language tags that `xml:lang` allows. Other tags are ignored. */
const TAG = /^[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*$/;

function listTags(all: readonly Named[]): string[] {
  return [...new Set(all.flatMap(({ names }) => Object.keys(names ?? {})))].filter((tag) => TAG.test(tag)).sort();
}

/** A language alternative: `x-default` comes first (XMP part 1, language alternatives). */
function alternatives(textIn: (tag: string | null) => string, tags: readonly string[]): string {
  const items = [null, ...tags].map((tag) => `<rdf:li xml:lang="${tag ?? 'x-default'}">${toXml(textIn(tag))}</rdf:li>`);
  return `<rdf:Alt>${items.join('')}</rdf:Alt>`;
}

function bag(items: readonly string[]): string {
  return `<rdf:Bag>${items.map((item) => `<rdf:li>${item}</rdf:li>`).join('')}</rdf:Bag>`;
}

const element = (name: string, content: string) => `<${name}>${content}</${name}>`;

const SIGNS: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };

/** Characters that XML 1.0 (§2.2) does not allow, including unpaired surrogates. */
const FOREIGN = /[^\t\n\r\u{20}-\u{d7ff}\u{e000}-\u{fffd}\u{10000}-\u{10ffff}]/gu;

/** Escapes text for an element or attribute of XML. */
export function toXml(text: string): string {
  return text.replace(FOREIGN, '').replace(/[&<>"]/g, (sign) => SIGNS[sign]!);
}
