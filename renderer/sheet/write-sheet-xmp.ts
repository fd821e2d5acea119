import { toXml } from '../../server/core/picture/write-xmp.ts';

export interface SheetFacts {
  readonly title: string;
  /** `yyyy-mm-dd`. */
  readonly date: string;
  readonly tool: string;
  /** Of the document: 32 hexadecimal digits. */
  readonly id: string;
  readonly press: boolean;
}

/** Namespaces as XMP parts 1 and 2 (ISO 16684-1, Adobe 2016) and ISO 15930-7 name them. */
const NAMESPACES = {
  dc: 'http://purl.org/dc/elements/1.1/',
  xmp: 'http://ns.adobe.com/xap/1.0/',
  xmpMM: 'http://ns.adobe.com/xap/1.0/mm/',
  pdf: 'http://ns.adobe.com/pdf/1.3/',
  pdfxid: 'http://www.npes.org/pdfx/ns/id/',
} as const;

/** What the file says of itself, as an XMP packet; for press it names the standard it keeps to. */
export function writeSheetXmp({ title, date, tool, id, press }: SheetFacts): string {
  const day = `${date}T00:00:00Z`;
  const uuid = id.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, 'uuid:$1-$2-$3-$4-$5');
  const spaces = Object.entries(NAMESPACES).map(([prefix, uri]) => ` xmlns:${prefix}="${uri}"`);
  const facts = [
    ['xmp:CreateDate', day],
    ['xmp:ModifyDate', day],
    ['xmp:MetadataDate', day],
    ['xmp:CreatorTool', tool],
    ['pdf:Producer', tool],
    ['pdf:Trapped', 'False'],
    ['xmpMM:DocumentID', uuid],
    ['xmpMM:VersionID', '1'],
    ['xmpMM:RenditionClass', 'default'],
    ...(press ? [['pdfxid:GTS_PDFXVersion', 'PDF/X-4']] : []),
  ];
  return [
    // the byte order mark is the packet's own sign of its encoding
    '<?xpacket begin="\uFEFF" id="W5M0MpCehiHzreSzNTczkc9d"?>',
    '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">',
    `<rdf:Description rdf:about=""${spaces.join('')}>`,
    '<dc:format>application/pdf</dc:format>',
    `<dc:title><rdf:Alt><rdf:li xml:lang="x-default">${toXml(title)}</rdf:li></rdf:Alt></dc:title>`,
    ...facts.map(([name, value]) => `<${name}>${toXml(value!)}</${name}>`),
    '</rdf:Description></rdf:RDF></x:xmpmeta>',
    '<?xpacket end="r"?>',
  ].join('\n');
}
