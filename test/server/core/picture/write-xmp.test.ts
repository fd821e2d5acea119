import { XMLParser, XMLValidator } from 'fast-xml-parser';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { encodeFile } from '../../../../renderer/encode-picture.ts';
import type { SetFormat } from '../../../../server/core/picture/picture-set.ts';
import { type PictureFacts, writeXmp } from '../../../../server/core/picture/write-xmp.ts';

// An XML parser reads the packet back. Its structure follows ISO 16684-1 (XMP part 1) §7 and the IPTC Photo Metadata
// Standard 2024.1, whose own sample file has language alternatives in rdf:Alt, bags in rdf:Bag and products as
// resources.

const FACTS: PictureFacts = {
  product: { code: 'QM-1', name: 'Stool', names: { de: 'Hocker' }, gtin: '06291041500213' },
  variant: { name: 'Oak & cord' },
  finishes: [
    { part: 'Seat', code: 'OAK', name: 'Oak', names: { de: 'Eiche' } },
    { part: 'Legs', code: 'BLK', name: 'Black', names: { fr: 'Noir' } },
  ],
  tool: 'Dyeworks 1.2.3',
};

const parser = new XMLParser({
  ignoreAttributes: false,
  attributeNamePrefix: '@',
  parseTagValue: false,
  isArray: (name) => name === 'rdf:li',
});
function read(facts: PictureFacts) {
  const text = writeXmp(facts);
  expect(XMLValidator.validate(text)).toBe(true);
  return parser.parse(text)['x:xmpmeta']['rdf:RDF']['rdf:Description'];
}
const texts = (node: { 'rdf:Alt': { 'rdf:li': { '@xml:lang': string; '#text': string }[] } }) =>
  node['rdf:Alt']['rdf:li'].map((item) => [item['@xml:lang'], item['#text']]);

it('names the subject of the picture in every available language', () => {
  const found = read(FACTS);
  expect(texts(found['dc:title'])).toEqual([
    ['x-default', 'Stool, Oak & cord'],
    ['de', 'Hocker, Oak & cord'],
  ]);
  expect(texts(found['dc:description'])).toEqual([
    ['x-default', 'Seat: Oak (OAK); Legs: Black (BLK)'],
    ['de', 'Seat: Eiche (OAK); Legs: Black (BLK)'],
    ['fr', 'Seat: Oak (OAK); Legs: Noir (BLK)'],
  ]);
  expect(found['dc:subject']['rdf:Bag']['rdf:li']).toEqual(['QM-1', 'Stool', 'Oak', 'OAK', 'Black', 'BLK']);
  expect(found['xmp:CreatorTool']).toBe('Dyeworks 1.2.3');
  expect(found['Iptc4xmpExt:DigitalSourceType']).toBe('http://cv.iptc.org/newscodes/digitalsourcetype/digitalCreation');
  const [product] = found['Iptc4xmpExt:ProductInImage']['rdf:Bag']['rdf:li'];
  expect(product['@rdf:parseType']).toBe('Resource');
  expect(product['Iptc4xmpExt:ProductGTIN']).toBe('06291041500213');
  expect(texts(product['Iptc4xmpExt:ProductName'])[1]).toEqual(['de', 'Hocker']);
});

it('names the finish of a swatch, and no product', () => {
  const swatch = { product: null, variant: null, finishes: [{ ...FACTS.finishes[0]!, part: null }], tool: 'T' };
  const found = read(swatch);
  expect(texts(found['dc:title'])).toEqual([
    ['x-default', 'Oak'],
    ['de', 'Eiche'],
  ]);
  expect(texts(found['dc:description'])).toEqual([
    ['x-default', 'Oak (OAK)'],
    ['de', 'Eiche (OAK)'],
  ]);
  expect(found['dc:subject']['rdf:Bag']['rdf:li']).toEqual(['Oak', 'OAK']);
  expect(found).not.toHaveProperty('Iptc4xmpExt:ProductInImage');
});

it('declares the namespaces by their names', () => {
  expect(read(FACTS)).toMatchObject({
    '@rdf:about': '',
    '@xmlns:dc': 'http://purl.org/dc/elements/1.1/',
    '@xmlns:xmp': 'http://ns.adobe.com/xap/1.0/',
    '@xmlns:Iptc4xmpExt': 'http://iptc.org/std/Iptc4xmpExt/2008-02-29/',
  });
});

it('escapes markup in names, and leaves out characters that XML cannot hold', () => {
  const name = '<b>"A" & B</b> ]]> <?x?> \u0000\u0007\ud800ä𝄞';
  const found = read({ ...FACTS, product: { code: 'X', name }, variant: null, finishes: [] });
  expect(texts(found['dc:title'])).toEqual([['x-default', '<b>"A" & B</b> ]]> <?x?> ä𝄞']]);
  expect(found).not.toHaveProperty('dc:description');
});

it('ignores texts under an invalid language tag', () => {
  const names = { 'de"x': 'a', de: 'Stuhl', constructor: 'c', '': 'd', 'pt-BR': 'Banco' };
  const found = read({ ...FACTS, product: { code: 'X', name: 'Chair', names } });
  expect(texts(found['dc:title']).map(([tag]) => tag)).toEqual(['x-default', 'de', 'pt-BR']);
});

it('is the same twice, in a packet wrapper', () => {
  expect(writeXmp(FACTS)).toBe(writeXmp(FACTS));
  expect(writeXmp(FACTS)).toMatch(
    /^<\?xpacket begin="\uFEFF" id="W5M0MpCehiHzreSzNTczkc9d"\?>\n[\s\S]*\n<\?xpacket end="r"\?>$/,
  );
});

describe.each<SetFormat>(['png', 'webp', 'jpg', 'tiff'])('in %s', (format) => {
  it('survives in the file unchanged', async () => {
    const xmp = writeXmp(FACTS);
    const raw = { widthPx: 2, heightPx: 1, rgba: new Uint8Array([1, 2, 3, 255, 4, 5, 6, 255]) };
    const { xmpAsString } = await sharp(await encodeFile(raw, { format, xmp })).metadata();
    expect(xmpAsString).toBe(xmp);
  });
});
