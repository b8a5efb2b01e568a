"""The bill of materials, as CycloneDX 1.6 in JSON."""

import json
import uuid

from crates import Crate, Program
from cyclonedx.factory.license import LicenseFactory
from cyclonedx.model import ExternalReference, ExternalReferenceType, HashAlgorithm, HashType, XsUri
from cyclonedx.model.bom import Bom
from cyclonedx.model.component import Component, ComponentScope, ComponentType
from cyclonedx.output.json import JsonV1Dot6
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from packageurl import PackageURL


def bill(program: Program) -> str:
    """The whole document; one that its own schema refuses is never written."""
    bom = Bom()
    # The time of writing is of no use to a reader, and would make each bill another.
    bom.metadata.timestamp = None
    root = component(program.root, ComponentType.APPLICATION)
    bom.metadata.component = root
    parts = {program.root.key: root}
    for key, crate in program.crates.items():
        parts[key] = component(crate, ComponentType.LIBRARY)
        bom.components.add(parts[key])
    for crate in (program.root, *program.crates.values()):
        bom.register_dependency(parts[crate.key], [parts[key] for key in sorted(crate.uses)])
    text = named_by_its_content(bom)
    fault = JsonStrictValidator(SchemaVersion.V1_6).validate_str(text)
    if fault is not None:
        raise ValueError(f"the bill is no CycloneDX 1.6: {fault}")
    return text


def component(crate: Crate, kind: ComponentType) -> Component:
    """One crate. What only takes part in the build is excluded from the scope of a running program."""
    purl = PackageURL("cargo", None, crate.name, crate.version)
    references = []
    if crate.repository:
        references.append(ExternalReference(type=ExternalReferenceType.VCS, url=XsUri(crate.repository)))
    return Component(
        type=kind,
        name=crate.name,
        version=crate.version,
        bom_ref=str(purl),
        purl=purl,
        description=" ".join(crate.about.split()) if crate.about else None,
        scope=ComponentScope.REQUIRED if crate.runs else ComponentScope.EXCLUDED,
        hashes=[HashType(alg=HashAlgorithm.SHA_256, content=crate.sha256)] if crate.sha256 else [],
        licenses=[LicenseFactory().make_from_string(crate.expression)],
        external_references=references,
    )


def named_by_its_content(bom: Bom) -> str:
    """The document with a serial number that is made from everything else in it."""
    bom.serial_number = uuid.UUID(int=0)
    bare = JsonV1Dot6(bom).output_as_string()
    bom.serial_number = uuid.uuid5(uuid.NAMESPACE_OID, bare)
    document = json.loads(JsonV1Dot6(bom).output_as_string())
    return json.dumps(document, indent=2, sort_keys=True, ensure_ascii=False) + "\n"
