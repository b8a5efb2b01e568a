"""A receiver of traces by OTLP over HTTP, with the messages that OpenTelemetry publishes.

Usage: python otlp.py
Prints the port that it listens at on 127.0.0.1, then one line of JSON for each span that it gets, and one for
each request as it came.
It ends when its standard input does.
"""

import json
import os
import sys
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from opentelemetry.proto.collector.trace.v1.trace_service_pb2 import (
    ExportTraceServiceRequest,
    ExportTraceServiceResponse,
)

PROTOBUF = "application/x-protobuf"
printing = threading.Lock()


def told(attributes) -> dict:
    """Attributes as a dictionary; a number is a number."""
    values = {}
    for one in attributes:
        kind = one.value.WhichOneof("value")
        values[one.key] = getattr(one.value, kind) if kind != "array_value" else str(one.value)
    return values


class Receiver(BaseHTTPRequestHandler):
    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        if self.path != "/v1/traces" or self.headers["Content-Type"] != PROTOBUF:
            self.send_error(404)
            return
        request = ExportTraceServiceRequest.FromString(body)
        lines = []
        for resource in request.resource_spans:
            for scope in resource.scope_spans:
                for span in scope.spans:
                    lines.append(
                        {
                            "resource": told(resource.resource.attributes),
                            "scope": scope.scope.name,
                            "trace": span.trace_id.hex(),
                            "span": span.span_id.hex(),
                            "parent": span.parent_span_id.hex(),
                            "state": span.trace_state,
                            "name": span.name,
                            "kind": span.kind,
                            "begin": span.start_time_unix_nano,
                            "end": span.end_time_unix_nano,
                            "attributes": told(span.attributes),
                            "status": span.status.code,
                        }
                    )
        headers = dict(self.headers.items())
        with printing:
            for line in lines:
                print(json.dumps(line))
            print(json.dumps({"headers": headers, "raw": body.decode("latin-1")}))
            sys.stdout.flush()
        answer = ExportTraceServiceResponse().SerializeToString()
        self.send_response(200)
        self.send_header("Content-Type", PROTOBUF)
        self.send_header("Content-Length", str(len(answer)))
        self.end_headers()
        self.wfile.write(answer)

    def log_message(self, *_) -> None:
        """Says nothing of requests."""


server = ThreadingHTTPServer(("127.0.0.1", 0), Receiver)
print(server.server_address[1], flush=True)
threading.Thread(target=server.serve_forever, daemon=True).start()
sys.stdin.read()
os._exit(0)
