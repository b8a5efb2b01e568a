// A server that does the bench's job in a simple, usual way: `node server.mjs PORT`.

import Fastify from 'fastify';
import { bookDigest, judge, menu, siteDigest } from './build.mjs';
import * as schemas from './schemas.mjs';

const app = Fastify({
  logger: false,
  bodyLimit: 512 * 1024,
  ajv: { customOptions: { allowUnionTypes: true } },
});

// Allergens over the whole order, each once.
function overOrder(lines) {
  const all = { ingredients: new Set(), may_contain: new Set(), shared_equipment: new Set() };
  for (const { build } of lines) {
    if (!build) continue;
    for (const one of build.allergens.ingredients) all.ingredients.add(one);
    for (const one of build.allergens.may_contain) all.may_contain.add(one);
    for (const one of build.allergens.shared_equipment) all.shared_equipment.add(one.allergen);
  }
  return Object.fromEntries(Object.entries(all).map(([name, ids]) => [name, [...ids]]));
}

app.get('/health/live', (request, reply) => reply.code(204).send());

app.post('/v1/expand', {
  schema: { body: schemas.ticket, response: { 200: schemas.answer } },
}, (request, reply) => {
  const { site, lang = 'en', lines } = request.body;
  if (!menu.sites[site]) {
    reply.code(404).send({ title: 'Unknown site' });
    return;
  }
  const judged = lines.map((line) => judge(line, site));
  reply.send({
    book: { ...menu.book, digest: bookDigest },
    overlay: null,
    site: { id: site, digest: siteDigest },
    contract: 'drink-build/0.1',
    lang,
    allergens: overOrder(judged),
    lines: judged,
  });
});

await app.listen({ host: '127.0.0.1', port: Number(process.argv[2]) });
