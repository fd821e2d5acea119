import type { Article, ColourSpecification, Finish } from '../core/finish/finish.ts';
import { METALS, type MetalName } from '../core/finish/metals.ts';
import { toSrgb } from './textures/field.ts';

/**
 * Properties that finishes of one material share. `make-maps.ts` draws the maps under these names. Tile sizes are true: the
 * linen has ten threads per centimetre, so eighty threads are 80 mm.
 */
export const ARTICLES: Article[] = [
  {
    article: 'fell-linen',
    name: 'Fell linen',
    family: 'textile',
    composition: '100 % linen, plain weave, 10 × 10 threads/cm, 310 g/m²',
    threadsPerCm: 10,
    roughness: 0.92,
    maps: { colour: 'plain-weave-colour.png', normal: 'plain-weave-normal.png' },
    tile: { widthMm: 80, heightMm: 80 },
  },
  {
    article: 'drumlin-boucle',
    name: 'Drumlin bouclé',
    family: 'textile',
    composition: '72 % wool, 28 % cotton, loops of 3 to 6 mm, 640 g/m²',
    roughness: 1,
    maps: { colour: 'boucle-colour.png', normal: 'boucle-normal.png' },
    tile: { widthMm: 80, heightMm: 80 },
  },
  {
    article: 'saltmarsh-terry',
    name: 'Saltmarsh terry',
    family: 'textile',
    composition: '100 % cotton, looped pile 4 mm high, 520 g/m²',
    roughness: 1,
    maps: { colour: 'terry-colour.png', normal: 'terry-normal.png' },
    tile: { widthMm: 60, heightMm: 60 },
  },
  {
    article: 'withy-herringbone',
    name: 'Withy herringbone',
    family: 'textile',
    composition: '100 % wool, broken 2/2 twill in 12 mm stripes, 480 g/m²',
    roughness: 0.95,
    maps: { colour: 'herringbone-colour.png', normal: 'herringbone-normal.png' },
    tile: { widthMm: 48, heightMm: 48 },
  },
  {
    article: 'ropewalk-braid',
    name: 'Rope-walk braid',
    family: 'textile',
    composition: 'Polyester sleeve over three cores, braided',
    roughness: 0.8,
  },
  {
    article: 'halter-hide',
    name: 'Halter hide',
    family: 'leather',
    composition: 'Cattle hide, full grain, semi-aniline, 1.2 mm',
    roughness: 0.55,
    maps: { colour: 'hide-colour.png', normal: 'hide-normal.png' },
    tile: { widthMm: 60, heightMm: 60 },
  },
  {
    article: 'foundry-powder',
    name: 'Foundry powder coat',
    family: 'powder-coat',
    composition: 'Polyester powder, fine texture, 80 µm',
    roughness: 0.52,
    maps: { normal: 'powder-normal.png' },
    tile: { widthMm: 40, heightMm: 40 },
  },
  {
    article: 'coach-lacquer',
    name: 'Coach lacquer',
    family: 'paint',
    composition: 'Two-component lacquer, rubbed and polished',
    roughness: 0.42,
    clearcoat: 1,
    clearcoatRoughness: 0.08,
  },
  {
    article: 'lathe-metal',
    name: 'Lathe-brushed metal',
    family: 'bare-metal',
    composition: 'Solid, brushed in turning, unlacquered',
    roughness: 0.36,
    metal: true,
    maps: { normal: 'brushed-normal.png', roughness: 'brushed-roughness.png' },
    tile: { widthMm: 60, heightMm: 60 },
  },
  {
    article: 'coppice-oak',
    name: 'Coppice oak',
    family: 'wood',
    composition: 'Solid oak, rift-sawn, hard wax oil',
    roughness: 0.5,
    maps: { colour: 'oak-colour.png', normal: 'oak-normal.png' },
    tile: { widthMm: 120, heightMm: 240 },
  },
  {
    article: 'lowland-walnut',
    name: 'Lowland walnut',
    family: 'wood',
    composition: 'Solid walnut, oiled',
    roughness: 0.46,
    maps: { colour: 'walnut-colour.png' },
    tile: { widthMm: 120, heightMm: 240 },
  },
  {
    article: 'kiln-glaze',
    name: 'Kiln glaze',
    family: 'ceramic',
    composition: 'Stoneware, reduction fired at 1280 °C',
    roughness: 0.5,
    clearcoat: 1,
    clearcoatRoughness: 0.07,
    maps: { colour: 'glaze-colour.png', normal: 'glaze-normal.png' },
    tile: { widthMm: 160, heightMm: 160 },
  },
  {
    article: 'quarry-terrazzo',
    name: 'Quarry terrazzo',
    family: 'stone',
    composition: 'Marble chips in white cement, honed',
    roughness: 0.34,
    maps: { colour: 'terrazzo-colour.png' },
    tile: { widthMm: 180, heightMm: 180 },
  },
  {
    article: 'mulberry-paper',
    name: 'Mulberry paper',
    family: 'paper',
    composition: 'Hand-made paper on a cotton backing, 130 g/m²',
    roughness: 0.88,
    maps: { colour: 'paper-colour.png', normal: 'paper-normal.png' },
    tile: { widthMm: 120, heightMm: 120 },
  },
];

/** Sizes of the products' data sheets, in mm. The models have these sizes, and a test measures them. */
export const LAMP_SHEET = { widthMm: 282, depthMm: 282, heightMm: 460 } as const;
export const STOOL_SHEET = { widthMm: 368, depthMm: 368, heightMm: 450 } as const;

type Extra = Partial<
  Pick<Finish, 'roughness' | 'clearcoat' | 'clearcoatRoughness' | 'tags' | 'maps' | 'tile' | 'status' | 'companions'>
>;

/** A row of the maker's finish list: code, names, colour, article. */
function of(
  article: string,
  finish: string,
  name: string,
  de: string,
  colour: string | ColourSpecification,
  extra: Extra = {},
): Finish {
  const { family } = ARTICLES.find((candidate) => candidate.article === article)!;
  return {
    finish,
    name,
    names: { de },
    family,
    article,
    colour: typeof colour === 'string' ? { hex: colour } : colour,
    ...extra,
  };
}

function plated(finish: string, name: string, de: string, metal: MetalName, extra: Extra): Finish {
  return { finish, name, names: { de }, family: 'plated', colour: metalColour(metal), metal: true, ...extra };
}

/** The colour of a metal, from the core's table, as sRGB hex. */
function metalColour(metal: MetalName): ColourSpecification {
  const hex = METALS[metal].f0.map((value) => toSrgb(value).toString(16).padStart(2, '0')).join('');
  return { hex: `#${hex}` };
}

function d65(lightness: number, a: number, b: number): ColourSpecification {
  return { lab: [lightness, a, b], illuminant: 'D65', observer: '2deg', geometry: 'de:8' };
}

function d50(lightness: number, a: number, b: number): ColourSpecification {
  return { lab: [lightness, a, b], illuminant: 'D50', observer: '2deg', geometry: '45:0' };
}

const SHADE_CLOTH: Extra = { tags: ['shade', 'upholstery'] };
const UPHOLSTERY: Extra = { tags: ['upholstery'] };
const CORD: Extra = { tags: ['cord'] };
const SHADE: Extra = { tags: ['shade'] };

/** The maker's finishes, in the order of the printed list. */
export const FINISHES: Finish[] = [
  of('fell-linen', 'FEL-110', 'Chalk linen', 'Leinen Kreide', '#ebe5d8', SHADE_CLOTH),
  of('fell-linen', 'FEL-124', 'Oatfield linen', 'Leinen Haferfeld', '#cfbd9e', SHADE_CLOTH),
  of('fell-linen', 'FEL-137', 'Moss linen', 'Leinen Moos', '#737a54', SHADE_CLOTH),
  of('fell-linen', 'FEL-142', 'Slate linen', 'Leinen Schiefer', '#5c6a76', SHADE_CLOTH),
  of('fell-linen', 'FEL-158', 'Madder linen', 'Leinen Krapp', d65(43.5, 33.2, 27.4), SHADE_CLOTH),
  of('drumlin-boucle', 'DRM-210', 'Cloudbank bouclé', 'Bouclé Wolkenbank', '#efe9dd', UPHOLSTERY),
  of('drumlin-boucle', 'DRM-226', 'Bracken bouclé', 'Bouclé Adlerfarn', '#b07b47', UPHOLSTERY),
  of('drumlin-boucle', 'DRM-241', 'Heather bouclé', 'Bouclé Heidekraut', '#8a7286', UPHOLSTERY),
  of('saltmarsh-terry', 'SLM-252', 'Sandbar terry', 'Frottee Sandbank', '#cbb594', UPHOLSTERY),
  of('saltmarsh-terry', 'SLM-267', 'Eelgrass terry', 'Frottee Seegras', '#6f8573', UPHOLSTERY),
  of('withy-herringbone', 'WTH-312', 'Peat herringbone', 'Fischgrat Torf', '#6a584b', UPHOLSTERY),
  of('withy-herringbone', 'WTH-325', 'Lichen herringbone', 'Fischgrat Flechte', '#989c7e', UPHOLSTERY),
  of('withy-herringbone', 'WTH-338', 'Harbour herringbone', 'Fischgrat Hafen', d65(35.6, -3.4, -14.8), UPHOLSTERY),
  of('halter-hide', 'HLT-410', 'Saddle hide', 'Leder Sattel', '#a0632f', UPHOLSTERY),
  of('halter-hide', 'HLT-422', 'Inkwell hide', 'Leder Tintenfass', '#23282f', UPHOLSTERY),
  of('halter-hide', 'HLT-431', 'Claret hide', 'Leder Bordeaux', d50(24.8, 29.5, 14.1), UPHOLSTERY),
  of('ropewalk-braid', 'RPW-510', 'Raven braid', 'Geflecht Rabe', '#222224', CORD),
  of('ropewalk-braid', 'RPW-518', 'Flax braid', 'Geflecht Flachs', '#c2ad88', CORD),
  of('ropewalk-braid', 'RPW-527', 'Beacon braid', 'Geflecht Leuchtfeuer', '#b8412a', CORD),
  of('foundry-powder', 'FDY-610', 'Soot', 'Ruß', '#2a2b2e', { companions: { cord: 'RPW-510' } }),
  of('foundry-powder', 'FDY-624', 'Tarn blue', 'Bergseeblau', d65(38.1, -8.2, -15.4)),
  of('foundry-powder', 'FDY-633', 'Sage smoke', 'Salbeirauch', d50(61.4, -7.9, 10.6)),
  of('foundry-powder', 'FDY-641', 'Ember clay', 'Glutton', '#b35c3f'),
  of('foundry-powder', 'FDY-652', 'Whitewash', 'Kalkweiß', '#e9e5db'),
  of('coach-lacquer', 'LCQ-702', 'Signal-box red', 'Stellwerkrot', d65(34.9, 50.6, 33.8)),
  of('coach-lacquer', 'LCQ-711', 'Gorse', 'Ginster', '#d8a32a'),
  plated('PLT-804', 'Satin nickel', 'Nickel, satiniert', 'nickel', { roughness: 0.28 }),
  plated('PLT-810', 'Polished chromium', 'Chrom, poliert', 'chromium', { roughness: 0.07 }),
  { ...of('lathe-metal', 'MTL-820', 'Turned brass', 'Messing, gedreht', metalColour('brass')), metal: true },
  { ...of('lathe-metal', 'MTL-826', 'Turned copper', 'Kupfer, gedreht', metalColour('copper')), metal: true },
  { ...of('lathe-metal', 'MTL-833', 'Turned aluminium', 'Aluminium, gedreht', metalColour('aluminium')), metal: true },
  of('coppice-oak', 'OAK-902', 'Oak, oiled', 'Eiche, geölt', '#cfa878'),
  of('coppice-oak', 'OAK-914', 'Oak, smoked', 'Eiche, geräuchert', '#7d5a3c'),
  of('coppice-oak', 'OAK-928', 'Oak, ebonised', 'Eiche, ebonisiert', '#35302c'),
  of('lowland-walnut', 'WAL-936', 'Walnut, oiled', 'Nussbaum, geölt', '#8a6144'),
  of('kiln-glaze', 'KLN-104', 'Rivermint glaze', 'Glasur Flussminze', '#a3bba6'),
  of('kiln-glaze', 'KLN-117', 'Treacle glaze', 'Glasur Sirup', '#472a1b', { roughness: 0.4 }),
  of('kiln-glaze', 'KLN-125', 'Milkstone glaze', 'Glasur Milchstein', '#ece7dc'),
  of('quarry-terrazzo', 'QRY-201', 'Pale terrazzo', 'Terrazzo hell', '#e4dfd5'),
  of('quarry-terrazzo', 'QRY-212', 'Dusk terrazzo', 'Terrazzo Dämmerung', '#8d8580'),
  of('mulberry-paper', 'MLB-304', 'Mulberry paper, natural', 'Maulbeerpapier, natur', '#f1e9d7', SHADE),
  of('mulberry-paper', 'MLB-311', 'Mulberry paper, persimmon', 'Maulbeerpapier, Kaki', '#dc8f58', SHADE),
];
