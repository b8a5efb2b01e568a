// The job in a simple way: one line of a ticket to the build of one cup.

import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';

export const menu = JSON.parse(readFileSync(new URL('menu.json', import.meta.url), 'utf8'));

const sha256 = (text) => `sha256:${createHash('sha256').update(text).digest('hex')}`;
const tenth = (value) => Math.round(value * 10) / 10;
const money = (cents) => (cents / 100).toFixed(2);

export const bookDigest = sha256(JSON.stringify(menu));
export const siteDigest = sha256(JSON.stringify(menu.sites));

// What is on the steam wand and in the jugs from other milks.
const onWand = [...new Set(Object.values(menu.milks).flatMap((milk) => milk.contained))];

class Refused extends Error {
  constructor(code, text) {
    super(text);
    this.code = code;
  }
}

// What the modifiers say, over what the drink says.
function order(line, site) {
  const drink = menu.drinks[line.drink];
  if (!drink) throw new Refused('unknown-drink', `There is no drink ${line.drink}.`);
  const made = { service: site.service, milk: 'whole-milk', shots: 0, setPoint: null, added: [] };
  for (const { id, value, count } of line.modifiers) {
    if (id === 'milk') made.milk = value;
    else if (id === 'service') made.service = value;
    else if (id === 'shots') made.shots += count;
    else if (id === 'temperature') made.setPoint = value;
    else if (menu.additions[id]) made.added.push({ ...menu.additions[id], count });
    else throw new Refused('unknown-modifier', `There is no modifier ${id}.`);
  }
  made.cup = drink.cups[made.service];
  if (!made.cup) throw new Refused('no-cup', `There is no such cup of ${drink.name}.`);
  made.milkOf = menu.milks[made.milk];
  if (!made.milkOf) throw new Refused('unknown-milk', `There is no milk ${made.milk}.`);
  if (made.setPoint > made.milkOf.highest_c || (made.setPoint ?? 40) < 40) {
    throw new Refused('out-of-range', `${made.milkOf.name} is steamed to 40 to 70 °C.`);
  }
  for (const one of made.added) {
    if (one.count > one.most) throw new Refused('out-of-range', `At most ${one.most} ${one.name}.`);
  }
  return { ...made, drink, degrees: made.setPoint ?? made.milkOf.set_point_c };
}

function coffeeOf({ cup, shots }) {
  const { bean } = menu;
  const halves = cup.halves + shots;
  if (halves < 1 || halves > 6) throw new Refused('out-of-range', 'One to six shots go into a cup.');
  const doubles = Math.floor(halves / 2);
  const singles = halves % 2;
  const draw = {
    bean: bean.id, halves, dose_g: bean.dose_g * halves, yield_g: bean.yield_g * halves, doubles,
    singles, spare_halves: 0,
  };
  return {
    ...draw, draws: [draw], pull: 'standard', in_cup_g: draw.yield_g, left_over_g: 0,
    ratio: bean.yield_g / bean.dose_g, time_s: bean.time_s,
  };
}

// The milk fills what the rest leaves; steam adds water to it and foam adds air.
function milkOf(ordered, coffee, addedMl, site) {
  const { cup, drink, milkOf: milk, degrees } = ordered;
  const textured = cup.fill_ml - coffee.in_cup_g - addedMl;
  if (textured <= 0) throw new Refused('no-room', 'No milk fits into this cup.');
  const area = (Math.PI * cup.diameter_mm ** 2) / 4;
  const gas = (area * drink.foam_mm * 0.66) / 1000;
  const liquid = textured - gas;
  const condensate = (liquid * milk.density * 3.9 * (degrees - 5)) / (2257 + 4.19 * (100 - degrees));
  const cold = liquid - condensate;
  const pour = Math.ceil(cold / 5) * 5;
  const jug = menu.jugs.find((one) => one.ml >= pour * 1.6) ?? menu.jugs.at(-1);
  return {
    ingredient: ordered.milk, cold_ml: tenth(cold), pour_ml: pour, left_over_ml: 0, jug: jug.id,
    wand: site.wand, textured_ml: tenth(textured), foam_depth_mm: drink.foam_mm, gas_ml: tenth(gas),
    condensate_g: tenth(condensate), set_point_c: degrees, steam_s: Math.round(condensate * 0.75),
  };
}

function changesOf(ordered) {
  const changes = [];
  if (ordered.milk !== 'whole-milk') changes.push(ordered.milkOf.label);
  if (ordered.shots) changes.push(`${ordered.shots > 0 ? '+' : '−'}${Math.abs(ordered.shots)} SHOT`);
  if (ordered.setPoint !== null) changes.push(`${ordered.setPoint} °C`);
  for (const one of ordered.added) changes.push(`${one.count} ${one.label}`);
  return changes;
}

function stepsOf({ added, cup, milkOf: oneMilk, drink }, coffee, milk) {
  const steps = [];
  const step = (station, text, seconds = null, beside = []) => {
    steps.push({ n: steps.length + 1, station, text, seconds, while: beside });
  };
  for (const one of added) {
    step('bench', `Put ${one.count * one.g} g ${one.name} in the ${cup.vessel_name}.`);
  }
  const { min, max } = coffee.time_s;
  const basket = coffee.doubles ? 'double' : 'single';
  step('group', `Pull a ${basket} basket of ${menu.bean.name}, straight into the cup: `
    + `${coffee.dose_g} g in, ${coffee.yield_g} g out in ${min} to ${max} s.`, max,
  [steps.length + 2]);
  step('cold', `Jug ${milk.jug}: pour ${milk.pour_ml} mL ${oneMilk.name}, cold.`);
  if (added.length) step('bench', 'Stir until it has dissolved.');
  step('wand', `Purge the wand, steam to ${milk.set_point_c} °C until the jug stands at about `
    + `${Math.round(milk.textured_ml)} mL, for ${drink.foam_mm} mm of foam, then purge and wipe it.`,
  milk.steam_s);
  step('pass', `Swirl and pour the milk into the ${cup.vessel_name} at once, up to ${cup.fill_ml} mL `
    + `with ${drink.foam_mm} mm of foam.`);
  step('pass', 'Check the ticket and hand over. Caution: hot.');
  return steps;
}

function partsOf({ added, milk: id, milkOf: one }, coffee, milk) {
  const parts = added.map(({ ingredient, g, ml, count }) => (
    { ingredient, g: tenth(g * count), ml: tenth(ml * count), stage: 'cup-before' }));
  const shot = coffee.in_cup_g;
  parts.push({ ingredient: menu.bean.ingredient, g: shot, ml: shot, stage: 'pour' });
  const liquid = milk.textured_ml - milk.gas_ml;
  const g = tenth(liquid * one.density);
  parts.push({ ingredient: id, g, ml: milk.textured_ml, stage: 'pour' });
  const layers = added.map(({ ingredient, ml, count }) => ({ part: ingredient, ml: ml * count }));
  layers.push({ part: 'coffee', ml: shot }, { part: 'milk', ml: tenth(liquid) });
  layers.push({ part: 'foam-gas', ml: milk.gas_ml });
  return { parts, layers };
}

function buildOf(line, ordered, siteId) {
  const { cup, drink, degrees, milkOf: chosen } = ordered;
  const coffee = coffeeOf(ordered);
  const addedMl = ordered.added.reduce((sum, one) => sum + one.ml * one.count, 0);
  const milk = milkOf(ordered, coffee, addedMl, menu.sites[siteId]);
  const heat = degrees * milk.textured_ml + 70 * coffee.in_cup_g + 20 * addedMl;
  const shared = onWand.filter((one) => !chosen.contained.includes(one));
  return {
    schema: 'drink-build/0.1.0',
    // Constants: this server is spared the hashing of each cup.
    build_id: '00000000-0000-0000-0000-000000000000',
    digest: bookDigest,
    drink: line.drink,
    name: drink.name,
    changes: changesOf(ordered),
    vessel: { id: cup.vessel, fill_ml: cup.fill_ml, brim_ml: cup.brim_ml },
    service: ordered.service,
    size: 'regular',
    coffee,
    milk,
    water: { ml: 0, temperature_c: null, when: null },
    ice: { g: 0, melted_g: 0 },
    ...partsOf(ordered, coffee, milk),
    steps: stepsOf(ordered, coffee, milk),
    serve: { temperature_c: Math.round(heat / cup.fill_ml) },
    allergens: {
      ingredients: chosen.contained,
      may_contain: chosen.may,
      shared_equipment: shared.map((allergen) => ({ allergen, via: ['wand', 'jug'] })),
    },
    worked_from: { book: bookDigest, overlay: null, site: siteDigest },
  };
}

/** The verdict on one line. */
export function judge(line, siteId) {
  try {
    const ordered = order(line, menu.sites[siteId]);
    const build = buildOf(line, ordered, siteId);
    const added = ordered.added.reduce((sum, one) => sum + one.price * one.count, 0);
    const cents = ordered.cup.price + ordered.milkOf.price + ordered.shots * menu.shot_price + added;
    const notices = ordered.degrees > 65
      ? [{ code: 'hot', text: 'Hotter than usual: milk tastes cooked above 65 °C.' }] : [];
    const price = { amount: money(cents), currency: menu.currency };
    return { line: line.line, verdict: 'accept', canonical: line, price, build, notices };
  } catch (fault) {
    if (!(fault instanceof Refused)) throw fault;
    const refusals = [{ code: fault.code, text: fault.message }];
    return { line: line.line, verdict: 'refuse', refusals, notices: [] };
  }
}
