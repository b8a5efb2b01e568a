-- What wrk sends, and what it makes of the answers.
--
-- wrk … URL -- METHOD PATH FILE ACCEPTED LENGTH FIRST DEPTH CHECK LOW COUNT
--   FILE      one body a line, `@` where a temperature stands; `-` for no body
--   ACCEPTED  how many lines each answer accepts
--   LENGTH    of each answer; `-` for any
--   FIRST     number of the first ticket; `-` if the bodies come round as they are
--   DEPTH     requests that are sent at once on a connection
--   CHECK     1 to look into every answer, which slows wrk down
--   LOW       the lowest temperature, in thousandths of a degree
--   COUNT     of temperatures, a thousandth apart

local bodies = {}
local low, count
local method, path, accepted, length, number, depth
local requests = {}
local threads = {}

-- Read by done(), hence global.
wrong, seen, example = 0, 0, ""

function setup(thread)
  threads[#threads + 1] = thread
end

-- The temperature of the n-th ticket, in the way that the driver writes it.
local function temperature(n)
  local thousandths = low + math.floor(n / #bodies) % count
  return string.format("%d.%03d", math.floor(thousandths / 1000), thousandths % 1000)
end

local function ticket(n)
  local pieces = bodies[n % #bodies + 1]
  local degrees = temperature(n)
  return wrk.format(method, path, nil, table.concat(pieces, degrees))
end

local function split(line)
  local pieces = {}
  for piece in (line .. "@"):gmatch("([^@]*)@") do
    pieces[#pieces + 1] = piece
  end
  return pieces
end

local function judge(status, _, body)
  seen = seen + 1
  local _, found = body:gsub('"verdict":"accept"', "")
  if status ~= 200 or found ~= accepted or #body ~= (length or #body) then
    wrong = wrong + 1
    example = status .. " " .. body:sub(1, 2000)
  end
end

function init(args)
  method, path, accepted, length = args[1], args[2], tonumber(args[4]), tonumber(args[5])
  number, depth = tonumber(args[6]), tonumber(args[7])
  low, count = tonumber(args[9]), tonumber(args[10])
  wrk.headers["Content-Type"] = "application/json"
  if args[8] == "1" then response = judge end
  if args[3] == "-" then
    requests[1] = wrk.format(method, path)
    return
  end
  for line in io.lines(args[3]) do
    bodies[#bodies + 1] = split(line)
  end
  if not number then
    local list = {}
    for n = 0, #bodies - 1 do list[n + 1] = ticket(n) end
    for n = 1, #list do
      local batch = {}
      for at = 0, depth - 1 do batch[at + 1] = list[(n + at - 1) % #list + 1] end
      requests[n] = table.concat(batch)
    end
  end
end

local turn = 0

function request()
  if number then
    number = number + 1
    return ticket(number - 1)
  end
  turn = turn % #requests + 1
  return requests[turn]
end

function done(summary)
  local errors = summary.errors
  local failed = errors.connect + errors.read + errors.write + errors.status + errors.timeout
  local wrong_ones, seen_ones, one = 0, 0, ""
  for _, thread in ipairs(threads) do
    wrong_ones = wrong_ones + thread:get("wrong")
    seen_ones = seen_ones + thread:get("seen")
    one = thread:get("example")
  end
  io.write(string.format("\nDONE requests=%d failed=%d wrong=%d seen=%d\n",
    summary.requests, failed, wrong_ones, seen_ones))
  if one ~= "" then io.write("EXAMPLE ", one, "\n") end
end
