import {
  decodePDFRawStream,
  PDFArray,
  PDFDict,
  PDFDocument,
  PDFHexString,
  PDFName,
  PDFNumber,
  type PDFObject,
  PDFRawStream,
  PDFStream,
  PDFString,
} from '@cantoo/pdf-lib';
import { XMLParser, XMLValidator } from 'fast-xml-parser';

/**
 * Lists the faults that prevent a file from being PDF/X-4 (ISO 15930-7:2010), as far as this test checks them. The
 * standard was not available. The rules are those its readers name (callas pdfToolbox, PDF/X in a Nutshell of the PDF
 * Association) and those of the standards it builds on, PDF 1.6 (Adobe, fifth edition) and ICC.1:2004-10; they go by
 * name, not by clause. Not checked: whether glyph widths agree with the fonts, optional content, overprinting, and
 * anything that only a rendering would show.
 */
export async function listPressFaults(bytes: Uint8Array): Promise<string[]> {
  const document = await PDFDocument.load(bytes, { updateMetadata: false });
  return [
    ...checkFile(document, bytes),
    ...checkMetadata(document),
    ...checkOutputIntent(document),
    ...document.getPages().flatMap((page, i) => checkPage(page.node).map((fault) => `page ${i + 1}: ${fault}`)),
    ...listObjects(document).flatMap(checkObject),
  ];
}

const name = (text: string) => PDFName.of(text);
const has = (dict: PDFDict, key: string) => dict.has(name(key));
const word = (object: PDFObject | undefined) => (object instanceof PDFName ? object.decodeText() : '');
const text = (object: PDFObject | undefined) =>
  object instanceof PDFString || object instanceof PDFHexString ? object.decodeText() : '';
const when = (wrong: boolean, fault: string): string[] => (wrong ? [fault] : []);

function listObjects(document: PDFDocument): PDFObject[] {
  return document.context.enumerateIndirectObjects().map(([, object]) => object);
}

/** The file: version 1.6 at most, an identifier, no encryption, no actions. */
function checkFile({ context, catalog }: PDFDocument, bytes: Uint8Array): string[] {
  const version = /^%PDF-1\.(\d)/.exec(Buffer.from(bytes.subarray(0, 8)).toString('latin1'))?.[1];
  const { ID, Encrypt } = context.trailerInfo;
  const names = catalog.lookupMaybe(name('Names'), PDFDict);
  return [
    ...when(version === undefined || Number(version) > 6, `version 1.${version}`),
    ...when(!(ID instanceof PDFArray) || ID.size() !== 2 || text(ID.get(0)).length === 0, 'no file identifier'),
    ...when(Encrypt !== undefined, 'encrypted'),
    ...['AA', 'OpenAction', 'AcroForm', 'Collection', 'PieceInfo', 'OCProperties']
      .filter((key) => has(catalog, key))
      .map((key) => `${key} in the catalogue`),
    ...when(names !== undefined && ['JavaScript', 'EmbeddedFiles'].some((key) => has(names, key)), 'scripts or files'),
  ];
}

/** Title, dates and trapping in the information dictionary; the same in XMP, with the version and the identity. */
function checkMetadata({ context, catalog }: PDFDocument): string[] {
  const info = context.lookupMaybe(context.trailerInfo.Info, PDFDict);
  const stream = catalog.lookup(name('Metadata'));
  if (!info) return ['no information dictionary'];
  if (!(stream instanceof PDFRawStream)) return ['no XMP'];
  const xml = Buffer.from(stream.contents).toString('utf8');
  if (has(stream.dict, 'Filter') || XMLValidator.validate(xml) !== true) return ['XMP is packed or no XML'];
  const parsed = new XMLParser({ ignoreAttributes: false, parseTagValue: false }).parse(xml);
  const xmp = parsed['x:xmpmeta']['rdf:RDF']['rdf:Description'];
  const spaces: Record<string, string> = {
    pdfxid: 'http://www.npes.org/pdfx/ns/id/',
    xmpMM: 'http://ns.adobe.com/xap/1.0/mm/',
    xmp: 'http://ns.adobe.com/xap/1.0/',
    pdf: 'http://ns.adobe.com/pdf/1.3/',
    dc: 'http://purl.org/dc/elements/1.1/',
  };
  const title = xmp['dc:title']?.['rdf:Alt']?.['rdf:li'];
  const toIso = (key: string) =>
    text(info.lookup(name(key))).replace(/^D:(....)(..)(..)(..)(..)(..)Z.*$/, '$1-$2-$3T$4:$5:$6Z');
  const trapped = word(info.lookup(name('Trapped')));
  return [
    ...Object.entries(spaces).flatMap(([prefix, uri]) =>
      when(xmp[`@_xmlns:${prefix}`] !== uri, `XMP: another namespace for ${prefix}`),
    ),
    ...when(xmp['pdfxid:GTS_PDFXVersion'] !== 'PDF/X-4', 'XMP: no GTS_PDFXVersion PDF/X-4'),
    ...when(text(info.lookup(name('Title'))) === '' || title?.['#text'] !== text(info.lookup(name('Title'))), 'title'),
    ...when(!toIso('CreationDate').startsWith('20') || xmp['xmp:CreateDate'] !== toIso('CreationDate'), 'CreationDate'),
    ...when(!toIso('ModDate').startsWith('20') || xmp['xmp:ModifyDate'] !== toIso('ModDate'), 'ModDate'),
    ...when(!xmp['xmp:MetadataDate'], 'XMP: no MetadataDate'),
    ...when(!['True', 'False'].includes(trapped) || xmp['pdf:Trapped'] !== trapped, 'Trapped'),
    ...['DocumentID', 'VersionID', 'RenditionClass'].flatMap((key) => when(!xmp[`xmpMM:${key}`], `XMP: no ${key}`)),
  ];
}

/** One output intent for PDF/X, with the profile of an output device, and its name. */
function checkOutputIntent({ catalog }: PDFDocument): string[] {
  const intents = catalog.lookupMaybe(name('OutputIntents'), PDFArray);
  const all = Array.from({ length: intents?.size() ?? 0 }, (_, i) => intents!.lookup(i, PDFDict));
  const [intent, second] = all.filter((each) => word(each.get(name('S'))) === 'GTS_PDFX');
  if (!intent || second) return ['not one output intent for PDF/X'];
  const stream = intent.lookup(name('DestOutputProfile'));
  if (!(stream instanceof PDFRawStream)) return ['no profile of the output'];
  const profile = Buffer.from(decodePDFRawStream(stream).decode());
  const n = stream.dict.lookup(name('N'), PDFNumber).asNumber();
  return [
    ...['OutputConditionIdentifier', 'Info'].flatMap((key) =>
      when(text(intent.lookup(name(key))) === '', `output intent: no ${key}`),
    ),
    ...checkProfile(profile, n),
    ...when(profile.toString('latin1', 12, 16) !== 'prtr', 'output intent: not the profile of an output device'),
    // ICC.1:2004-10, required tags of an N-component LUT-based output profile
    ...['A2B0', 'A2B1', 'A2B2', 'B2A0', 'B2A1', 'B2A2', 'gamt', 'wtpt', 'desc', 'cprt'].flatMap((tag) =>
      when(!profile.subarray(128).includes(tag, 0, 'latin1'), `output intent: no tag ${tag}`),
    ),
  ];
}

/** Header of a profile (ICC.1:2004-10 §7.2): its length, version 4.2 at most, signature, channels. */
function checkProfile(profile: Buffer, channels: number): string[] {
  const space = { 1: 'GRAY', 3: 'RGB ', 4: 'CMYK' }[channels];
  return [
    ...when(profile.readUInt32BE(0) !== profile.length, 'profile: another length than it says'),
    ...when(profile.readUInt32BE(8) > 0x04200000, 'profile: newer than version 4.2'),
    ...when(profile.toString('latin1', 36, 40) !== 'acsp', 'profile: no signature'),
    ...when(profile.toString('latin1', 16, 20) !== space, 'profile: another number of channels'),
  ];
}

/** A page: nested boxes, trimmed; no annotations and actions; no colour without a defined meaning. */
function checkPage(page: PDFDict): string[] {
  const box = (key: string) => {
    const array = page.lookupMaybe(name(key), PDFArray);
    return (
      array && (array.asArray().map((value) => (value as PDFNumber).asNumber()) as [number, number, number, number])
    );
  };
  const inside = (inner: string, outer: string) => {
    const [a, b] = [box(inner), box(outer)];
    return !a || !b || (a[0] >= b[0] - 0.01 && a[1] >= b[1] - 0.01 && a[2] <= b[2] + 0.01 && a[3] <= b[3] + 0.01);
  };
  const resources = page.lookupMaybe(name('Resources'), PDFDict);
  const spaces = resources?.lookupMaybe(name('ColorSpace'), PDFDict);
  const operators = readOperators(page);
  const used = (list: readonly string[]) => list.some((operator) => operators.has(operator));
  return [
    ...when(!box('MediaBox') || has(page, 'UserUnit'), 'MediaBox'),
    ...when(box('TrimBox') === undefined || box('ArtBox') !== undefined, 'not one of TrimBox and ArtBox'),
    ...when(
      !inside('TrimBox', 'BleedBox') || !inside('BleedBox', 'MediaBox') || !inside('TrimBox', 'MediaBox'),
      'boxes',
    ),
    ...['Annots', 'AA', 'PresSteps', 'PieceInfo'].filter((key) => has(page, key)),
    ...when(used(['k', 'K']), 'colours in CMYK'),
    ...when(used(['rg', 'RG']) && !spaces?.has(name('DefaultRGB')), 'RGB that no profile explains'),
    ...when(used(['PS']), 'PostScript'),
  ];
}

/** The operators of a page’s content, without the contents of strings, arrays and dictionaries. */
function readOperators(page: PDFDict): Set<string> {
  const contents = page.lookup(name('Contents'));
  const streams = contents instanceof PDFArray ? contents.asArray().map((_, i) => contents.lookup(i)) : [contents];
  const source = streams
    .filter((stream) => stream instanceof PDFRawStream)
    .map((stream) => Buffer.from(decodePDFRawStream(stream).decode()).toString('latin1'))
    .join('\n');
  const bare = source.replace(/\((?:\\.|[^\\()])*\)/gs, ' ').replace(/<[^>]*>/g, ' ');
  return new Set(bare.match(/(?<=^|[\s\]])[A-Za-z'"][A-Za-z0-9*]*(?=\s|$)/g) ?? []);
}

/** Objects anywhere: embedded fonts, and pictures and states without anything that the standard forbids. */
function checkObject(object: PDFObject): string[] {
  const dict = object instanceof PDFStream ? object.dict : object instanceof PDFDict ? object : undefined;
  if (!dict) return [];
  const [type, subtype] = [word(dict.get(name('Type'))), word(dict.get(name('Subtype')))];
  if (type === 'Font') return checkFont(dict, subtype);
  if (type === 'ExtGState') {
    return ['TR', 'TR2', 'HT', 'HTP', 'SMask'].flatMap((key) => {
      const value = dict.get(name(key));
      return when(value !== undefined && word(value) !== 'None' && word(value) !== 'Default', `graphics state: ${key}`);
    });
  }
  if (!(object instanceof PDFStream)) return [];
  const filters = dict.lookup(name('Filter'));
  const filter = filters instanceof PDFArray ? filters.asArray().map(word) : [word(filters)];
  const packed = [...when(has(dict, 'F'), 'a stream outside'), ...when(filter.includes('LZWDecode'), 'LZW')];
  if (subtype === 'PS') return [...packed, 'PostScript'];
  if (subtype === 'Form') return [...packed, ...['OPI', 'Ref', 'Group'].filter((key) => has(dict, key))];
  return subtype === 'Image' ? [...packed, ...checkImage(dict)] : packed;
}

/** A font of outlines with its program in the file. The standard allows Type 3, but many preflight tools do not. */
function checkFont(font: PDFDict, subtype: string): string[] {
  if (subtype === 'Type0') return [];
  const called = word(font.get(name('BaseFont')));
  if (subtype === 'Type3') return ['a Type 3 font'];
  const descriptor = font.lookupMaybe(name('FontDescriptor'), PDFDict);
  const program = ['FontFile', 'FontFile2', 'FontFile3'].map((key) => descriptor?.lookup(name(key)));
  return when(!program.some((each) => each instanceof PDFStream), `the font ${called} is not in the file`);
}

/** A picture whose colours use a profile. */
function checkImage(image: PDFDict): string[] {
  const space = image.lookup(name('ColorSpace'));
  const profile = space instanceof PDFArray && word(space.get(0)) === 'ICCBased' ? space.lookup(1) : undefined;
  const mean =
    profile instanceof PDFRawStream
      ? checkProfile(
          Buffer.from(decodePDFRawStream(profile).decode()),
          profile.dict.lookup(name('N'), PDFNumber).asNumber(),
        )
      : ['a picture without a profile'];
  return [...mean, ...['Alternates', 'OPI', 'SMask'].filter((key) => has(image, key)).map((key) => `picture: ${key}`)];
}
