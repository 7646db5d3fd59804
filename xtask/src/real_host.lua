-- Runs inside `ardour`'s Lua shell, for `cargo xtask real-host`: a session with the plugin on one
-- MIDI track and its notes recorded on another. What happens on the transport is a scenario.
-- Speaks to the command in lines on stdout: a keyword, then fields separated by spaces.

local RATE = 48000
local QUARTER = RATE / 2 -- samples; a new session has 120 BPM in 4/4

local dir = assert(os.getenv("REAL_HOST_SESSION"))
local plugin_name = assert(os.getenv("REAL_HOST_PLUGIN"))
local scenario_name = assert(os.getenv("REAL_HOST_SCENARIO"))
local seconds = assert(tonumber(os.getenv("REAL_HOST_SECONDS")))

local UI = ARDOUR.TransportRequestSource.TRS_UI
local session

local function say(...)
  print(...)
  io.stdout:flush()
end

local function wait(secs)
  -- In short naps, so that the command can show how far it is.
  for _ = 1, math.ceil(secs * 4) do
    ARDOUR.LuaAPI.usleep(250000)
    say("at", session:transport_sample())
  end
end

local function seek(quarters)
  local to = math.floor(quarters * QUARTER)
  session:request_locate(to, false, ARDOUR.LocateTransportDisposition.MustRoll, UI)
end

local function at_quarter(quarters)
  return Temporal.timepos_t.from_ticks(quarters * 1920)
end

local function edit_tempo_map(edit)
  local map = Temporal.TempoMap.write_copy()
  edit(map)
  Temporal.TempoMap.update(map)
end

-- The Lua interface can make a range but not the loop of it; a session file can.
local function with_loop(from_quarter, to_quarter)
  local function pos(quarter) return Temporal.timepos_t(math.floor(quarter * QUARTER)) end
  session:locations():add_range(pos(from_quarter), pos(to_quarter))
  session:save_state("", false, false, false, false, false)
  session = nil
  collectgarbage() -- the program does not survive Lua's holding on to parts of a closed session
  close_session()
  local path = dir .. "/recording.ardour"
  local file = assert(io.open(path))
  local text, found = file:read("a"):gsub('flags="IsRangeMarker"', 'flags="IsAutoLoop"', 1)
  file:close()
  assert(found == 1, "no range to make a loop of in " .. path)
  file = assert(io.open(path, "w"))
  file:write(text)
  file:close()
  session = assert(load_session(dir, "recording"), "the session with the loop does not load")
  assert(session:locations():auto_loop_location(), "the session came back without its loop")
end

-- Rolls all the time.
local function roll_on()
  session:request_roll(UI)
  wait(seconds)
end

-- Each gets the session ready (`prepare`), then starts the transport and leaves it rolling.
local scenarios = {
  roll = {
    play = roll_on,
  },
  -- Three quarters, across a bar line, neither end on the edge of a block.
  loop = {
    prepare = function() with_loop(2, 5) end,
    play = function()
      session:request_play_loop(true, false)
      session:request_roll(UI)
      wait(seconds)
    end,
  },
  seek = {
    play = function()
      session:request_roll(UI)
      wait(seconds / 3)
      seek(17.25)
      wait(seconds / 3)
      seek(6)
      wait(seconds / 3)
    end,
  },
  tempo = {
    prepare = function()
      edit_tempo_map(function(map)
        map:set_tempo(Temporal.Tempo(151, 151, 4), at_quarter(4))
        map:set_tempo(Temporal.Tempo(97, 97, 4), at_quarter(10))
      end)
    end,
    play = roll_on,
  },
  -- A bar longer than four quarters: this host counts its bar starts as if every bar had four.
  long_bars = {
    prepare = function()
      edit_tempo_map(function(map) map:set_meter(Temporal.Meter(5, 4), at_quarter(0)) end)
    end,
    play = function()
      session:request_roll(UI)
      wait(seconds / 4)
      seek(13)
      wait(seconds * 3 / 4)
    end,
  },
  -- Two bars of 7/8 between bars of 4/4.
  meter = {
    prepare = function()
      edit_tempo_map(function(map)
        map:set_meter(Temporal.Meter(7, 8), at_quarter(4))
        map:set_meter(Temporal.Meter(4, 4), at_quarter(11))
      end)
    end,
    play = roll_on,
  },
}

local function midi_track(name)
  local one = ARDOUR.ChanCount(ARDOUR.DataType("midi"), 1)
  local made = session:new_midi_track(one, one, true, ARDOUR.PluginInfo(), nil, nil, 1, name,
    ARDOUR.PresentationInfo.max_order, ARDOUR.TrackMode.Normal, true)
  for track in made:iter() do return track end
  error("no track could be made")
end

local function wire()
  local player, recorder = midi_track("Player"), midi_track("Recorder")
  -- A new track's fader glides up from silence, and a MIDI track's fader scales velocities: without
  -- this pause the first notes are now and then recorded too soft.
  ARDOUR.LuaAPI.usleep(1000000)
  local plugin = ARDOUR.LuaAPI.new_plugin(session, plugin_name, ARDOUR.PluginType.VST3, "")
  assert(not plugin:isnil(), "the program does not know the plugin " .. plugin_name)
  assert(player:add_processor_by_index(plugin, 0, nil, true) == 0, "the plugin did not load")
  local wired = player:output():midi(0):connect("Recorder/midi_in 1")
  assert(wired == 0, "the tracks could not be wired")
  recorder:rec_enable_control():set_value(1, PBD.GroupControlDisposition.NoGroup)
  return recorder
end

-- A position as the program prints it, "quarters:ticks"; it counts 1920 ticks to the quarter note.
local function ticks(beats)
  local quarters, rest = tostring(beats):match("^(%d+):(%d+)$")
  return math.tointeger(quarters) * 1920 + math.tointeger(rest)
end

local function report(recorder)
  for region in recorder:playlist():region_list():iter() do
    local midi = region:to_midiregion()
    say("region", region:position():ticks(), region:start():ticks())
    for note in ARDOUR.LuaAPI.note_list(midi:model()):iter() do
      say("note", ticks(note:time()), ticks(note:length()),
        note:channel(), note:note(), note:velocity())
    end
  end
end

local scenario = assert(scenarios[scenario_name], "no scenario " .. scenario_name)
session = assert(create_session(dir, "recording", RATE), "no session in " .. dir)
if scenario.prepare then scenario.prepare() end
local recorder = wire()
session:maybe_enable_record()
scenario.play()
say("rolled", session:transport_sample())
session:request_stop(false, false, UI)
ARDOUR.LuaAPI.usleep(1500000) -- the butler thread writes the take
report(recorder)
session:save_state("", false, false, false, false, false)
recorder, session = nil, nil
collectgarbage()
close_session()
say("done")
