/**
 * Words by which the trade names what a part is made of, in English, German, French, Italian, Spanish and Dutch, folded to
 * small letters without accents. Everyday words, of no published list; a list of hints, never of facts.
 * Stems are found inside a word, since German and Dutch put words together (“Eichenholzfuß”); short words, which other
 * words hold by chance (“rame” in “frame”), only stand alone.
 */
const METAL = {
  stems: words(`metal metall chrom cromo steel stahl staal acier acciaio acero inox brass messing laiton ottone laton
    bronz alumin copper kupfer cuivre cobre koper nickel silver silber argento titan eisen gusseisen zink galvan pewter
    goldleaf blattgold screw schraub`),
  alone: words('iron fer ferro hierro ijzer gold golden oro goud rame zinc tin alu rvs silver plata bolt bolts weld'),
};

const OTHER = {
  stems: words(`wood holz legno madera bois eiche chene rovere roble walnut nussbaum noyer buche beech hetre faggio
    birch birke maple ahorn kirsch plywood veneer furnier placage melamin laminat fabric textil textiel stoff tissu
    tessuto cloth wool wolle cotton baumwoll coton linen leinen velvet velour velluto terciopelo felt boucle
    upholst polster cushion kissen coussin cuscino cojin bezug leather leder cuir cuero plastic plasti kunststof
    polyprop polycarb polyamid nylon rubber gummi caoutchouc gomma paper papier carta papel ceram keram porcel porzel
    concrete beton marble marmor marbre granit stone stein rattan wicker cork kork bamboo bambus foam schaum glass
    vetro vidrio verre lampshade`),
  alone:
    words(`oak samt pelle ash esche pine fir teak mdf hdf hout eik kork cane rush seagrass lin lino lana laine wol tela tuch
    toile mesh stof filz leer skai vinyl pvc abs pp pom silicone silikon glas clay terracotta pietra piedra plaster`),
};

/** What a name speaks of; null when it names neither, or nothing known. A metal named beside another material wins. */
export function readMaterialWord(name: string): 'metal' | 'other' | null {
  const tokens = name
    .replace(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .split(/[^a-z]+/)
    // “nonmetal” and “metallic paint” name no metal
    .filter((token) => token !== '' && !/^non-?metal/.test(token));
  if (speaksOf(tokens, METAL)) return 'metal';
  return speaksOf(tokens, OTHER) ? 'other' : null;
}

function speaksOf(tokens: readonly string[], { stems, alone }: { stems: readonly string[]; alone: readonly string[] }) {
  return tokens.some((token) => alone.includes(token) || stems.some((stem) => token.includes(stem)));
}

function words(text: string): string[] {
  return text.split(/\s+/);
}
