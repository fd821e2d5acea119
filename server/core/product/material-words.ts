/**
 * Words by which the trade names what a part is made of, in English, German, French, Italian, Spanish and Dutch, folded to
 * small letters without accents. Everyday words, of no published list; a list of hints, never of facts.
 * Stems are found inside a word, since German and Dutch put words together (“Eichenholzfuß”); short words, which other
 * words hold by chance (“rame” in “frame”), only stand alone.
 */
const METAL = {
  stems: words(`metal metall chrom cromo steel stahl staal acier acciaio acero inox brass messing laiton ottone laton
    bronz alumin copper kupfer cuivre cobre koper nickel silver silber argento titan eisen gusseisen zink galvan pewter
    goldleaf blattgold screw schraub hardware hinge rivet zipper buckle mirror spiegel miroir specchio espejo`),
  alone:
    words(`iron fer ferro hierro ijzer gold golden oro goud rame zinc tin alu rvs silver plata bolt bolts weld zip zips
    nail nails chain grommet eyelet`),
};

const OTHER = {
  stems: words(`wood holz legno madera bois eiche rovere walnut nussbaum noyer buche beech hetre faggio
    birch birke maple ahorn kirsch plywood veneer furnier placage melamin laminat fabric textil textiel stoff tissu
    tessuto cloth wool wolle cotton baumwoll coton linen leinen velvet velour velluto terciopelo felt boucle
    upholst polster cushion kissen coussin cuscino cojin bezug leather leder cuir cuero plastic plasti kunststof
    polyprop polycarb polyamid nylon rubber gummi caoutchouc gomma paper papier papel ceram keram porcel porzel
    concrete beton marble marmor marbre granit stone stein rattan wicker bamboo bambus foam schaum glass
    vetro vidrio verre lampshade`),
  alone:
    words(`oak roble chene carta cork samt pelle ash esche pine fir teak mdf hdf hout eik kork cane rush seagrass lin lino lana laine wol tela tuch
    toile stof filz leer skai vinyl pvc abs pp pom silicone silikon glas clay terracotta pietra piedra plaster`),
};

/** Words of a name that say neither what it is nor what it is of. */
const NO_WORDS = new Set(words('mat material mtl shader default surface the'));

/**
 * What a name speaks of; null when it names neither, or nothing known. A metal named beside another material wins.
 * @param prefix words that say nothing here, as `findPrefix` finds them
 */
export function readMaterialWord(name: string, prefix: ReadonlySet<string> = new Set()): 'metal' | 'other' | null {
  const tokens = splitName(name);
  const own = tokens.filter((token) => !prefix.has(token));
  const told = own.length > 0 ? own : tokens;
  if (speaksOf(told, METAL)) return 'metal';
  return speaksOf(told, OTHER) ? 'other' : null;
}

/**
 * Words that all names of a model share when they name the product: “velvet” in `GlamVelvetSofa_feet` and
 * `GlamVelvetSofa_legs` tells nothing of the feet, since “sofa” is shared as well. Names that share a material alone
 * (`Oak light`, `Oak dark`) mean it.
 */
export function findPrefix(names: readonly string[]): ReadonlySet<string> {
  const [first, ...others] = [...new Set(names)].map(splitName);
  if (!first || others.length === 0) return new Set();
  const shared = first.filter((token) => others.every((tokens) => tokens.includes(token)));
  const namesProduct = shared.some(
    (token) => token.length > 2 && !NO_WORDS.has(token) && !speaksOf([token], METAL) && !speaksOf([token], OTHER),
  );
  return new Set(namesProduct ? shared : []);
}

function splitName(name: string): string[] {
  return (
    name
      .replace(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
      .normalize('NFKD')
      .replace(/\p{M}/gu, '')
      .toLowerCase()
      .split(/[^a-z]+/)
      // “nonmetal” and “metallic paint” name no metal
      .filter((token) => token !== '' && !/^non-?metal/.test(token))
  );
}

function speaksOf(tokens: readonly string[], { stems, alone }: { stems: readonly string[]; alone: readonly string[] }) {
  return tokens.some((token) => alone.includes(token) || stems.some((stem) => token.includes(stem)));
}

function words(text: string): string[] {
  return text.split(/\s+/);
}
