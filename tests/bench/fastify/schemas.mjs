// The JSON Schemas of the ticket and of the answer. Fastify checks a body with Ajv by the one and
// writes the answer with fast-json-stringify by the other.

const id = { type: 'string', minLength: 1, maxLength: 64 };
const text = { type: 'string' };
const number = { type: 'number' };
const integer = { type: 'integer' };
const none = { type: 'null' };
const list = (items) => ({ type: 'array', items });
const record = (properties) => ({ type: 'object', required: Object.keys(properties), properties });

export const ticket = {
  type: 'object',
  additionalProperties: false,
  required: ['site', 'lines'],
  properties: {
    site: id,
    lang: { enum: ['en'] },
    lines: {
      type: 'array',
      minItems: 1,
      maxItems: 100,
      items: {
        type: 'object',
        additionalProperties: false,
        required: ['line', 'drink'],
        properties: {
          line: id,
          drink: id,
          quantity: { type: 'integer', minimum: 1, maximum: 99, default: 1 },
          modifiers: {
            type: 'array',
            maxItems: 32,
            default: [],
            items: {
              type: 'object',
              additionalProperties: false,
              required: ['id'],
              properties: {
                id,
                value: { type: ['string', 'number'], maxLength: 64, minimum: -10000, maximum: 10000 },
                count: { type: 'integer', minimum: -99, maximum: 99 },
              },
            },
          },
        },
      },
    },
  },
};

const modifier = {
  type: 'object',
  required: ['id'],
  properties: { id: text, value: { type: ['string', 'number'] }, count: integer },
};

const coffee = {
  bean: text, pull: text, halves: integer, dose_g: number, yield_g: number, in_cup_g: number,
  left_over_g: number, ratio: number, time_s: record({ min: integer, max: integer }),
  doubles: integer, singles: integer, spare_halves: integer,
};

const draw = {
  bean: text, halves: integer, dose_g: number, yield_g: number, doubles: integer,
  singles: integer, spare_halves: integer,
};

const milk = {
  ingredient: text, cold_ml: number, pour_ml: number, left_over_ml: number, jug: text, wand: text,
  textured_ml: number, foam_depth_mm: number, gas_ml: number, condensate_g: number,
  set_point_c: number, steam_s: integer,
};

const step = {
  n: integer, station: text, text, seconds: { type: 'integer', nullable: true },
  while: list(integer),
};

const build = record({
  schema: text,
  build_id: text,
  digest: text,
  drink: text,
  name: text,
  changes: list(text),
  vessel: record({ id: text, fill_ml: number, brim_ml: number }),
  service: text,
  size: text,
  coffee: record({ ...coffee, draws: list(record(draw)) }),
  milk: record(milk),
  water: record({ ml: number, temperature_c: none, when: none }),
  ice: record({ g: number, melted_g: number }),
  parts: list(record({ ingredient: text, g: number, ml: number, stage: text })),
  layers: list(record({ part: text, ml: number })),
  steps: list(record(step)),
  serve: record({ temperature_c: number }),
  allergens: record({
    ingredients: list(text),
    may_contain: list(text),
    shared_equipment: list(record({ allergen: text, via: list(text) })),
  }),
  worked_from: record({ book: text, overlay: none, site: text }),
});

const refusal = record({ code: text, text });

export const answer = record({
  book: record({ id: text, version: text, digest: text }),
  overlay: none,
  site: record({ id: text, digest: text }),
  contract: text,
  lang: text,
  allergens: record({
    ingredients: list(text), may_contain: list(text), shared_equipment: list(text),
  }),
  lines: list({
    type: 'object',
    required: ['line', 'verdict', 'notices'],
    properties: {
      line: text,
      verdict: text,
      canonical: record({ line: text, drink: text, quantity: integer, modifiers: list(modifier) }),
      price: record({ amount: text, currency: text }),
      build,
      refusals: list(refusal),
      notices: list(refusal),
    },
  }),
});
