-- Runs inside `ardour`'s Lua shell, for `cargo xtask real-host`: a session with the plugin on one
-- MIDI track and its notes recorded on another. What happens on the transport is a scenario.
-- Speaks to the command in lines on stdout: a keyword, then fields separated by spaces.

local RATE = 48000
local QUARTER = RATE / 2 -- samples; a new session has 120 BPM in 4/4
local EARLY = RATE * 0.08 -- samples
local GUITAR = "Guitar that plays eighths"

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

-- The number of a parameter of the plugin on a track.
local function parameter(track, label)
  local plugin = track:nth_plugin(0):to_insert():plugin(0)
  for i = 0, plugin:parameter_count() - 1 do
    if plugin:parameter_is_input(i) then
      local _, _, described = ARDOUR.LuaAPI.plugin_automation(track:nth_plugin(0), i)
      if described.label == label then return i end
    end
  end
  error("the plugin has no parameter " .. label)
end

local function set(track, label, value)
  local set = ARDOUR.LuaAPI.set_processor_param(track:nth_plugin(0), parameter(track, label), value)
  assert(set, label .. " could not be set")
end

-- Lets a parameter step to values at quarters, as points { quarter, value }. Each step comes a little early: a stroke that
-- belongs to the quarter may sound before it.
local function automate(track, label, points)
  local number, plugin = parameter(track, label), track:nth_plugin(0)
  local _, line = ARDOUR.LuaAPI.plugin_automation(plugin, number)
  line:set_interpolation(Evoral.InterpolationStyle.Discrete)
  for _, point in ipairs(points) do
    local at = math.max(0, math.floor(point[1] * QUARTER - EARLY))
    line:add(Temporal.timepos_t(at), point[2], false, true)
  end
  local what = Evoral.Parameter(ARDOUR.AutomationType.PluginAutomation, 0, number)
  plugin:to_automatable():automation_control(what, false):set_automation_state(ARDOUR.AutoState.Play)
end

-- An audio track with a guitar, which the plugin of a track hears.
local function guitar(player)
  local tracks = session:new_audio_track(1, 1, nil, 1, "Guitar",
    ARDOUR.PresentationInfo.max_order, ARDOUR.TrackMode.Normal, true)
  local track = tracks:front()
  track:monitoring_control():set_value(ARDOUR.MonitorChoice.MonitorInput,
    PBD.GroupControlDisposition.NoGroup)
  local source = ARDOUR.LuaAPI.new_luaproc(session, GUITAR)
  assert(not source:isnil(), "the program does not know the script " .. GUITAR)
  assert(track:add_processor_by_index(source, 0, nil, true) == 0, "the guitar did not load")
  source:activate()
  player:add_sidechain(player:nth_plugin(0))
  local hears = player:nth_plugin(0):to_plugininsert():sidechain_input()
  assert(not hears:isnil(), "the plugin has no side-chain")
  local send = ARDOUR.LuaAPI.new_send(session, track, track:amp())
  assert(not send:isnil(), "no send could be made")
  local wired = send:to_send():output():nth(0):connect(hears:nth(0):name())
  assert(wired == 0, "the side-chain could not be wired")
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
  -- Three passes, each recorded from another place.
  passes = {
    play = function()
      for pass, quarters in ipairs({ 0, 17.25, 6 }) do
        if pass > 1 then
          session:request_stop(false, false, UI)
          ARDOUR.LuaAPI.usleep(1500000) -- the butler thread writes the take
          session:request_locate(math.floor(quarters * QUARTER), false,
            ARDOUR.LocateTransportDisposition.MustStop, UI)
          ARDOUR.LuaAPI.usleep(500000)
          session:maybe_enable_record()
        end
        session:request_roll(UI)
        wait(seconds / 3)
      end
    end,
  },
  -- Changes of tempo a quarter before bar lines: the program tells of a change with the block after it, and the drummer
  -- composes a bar at the tempo that is in force where the bar begins.
  tempi = {
    prepare = function()
      edit_tempo_map(function(map)
        map:set_tempo(Temporal.Tempo(151, 151, 4), at_quarter(7))
        map:set_tempo(Temporal.Tempo(97, 97, 4), at_quarter(15))
      end)
    end,
    play = roll_on,
  },
  -- The intensity and the beat move at bar lines.
  automated = {
    wired = function(player)
      automate(player, "Intensity", { { 0, 0.3 }, { 8, 0.9 }, { 16, 0.5 } })
      automate(player, "Beat", { { 0, 0 }, { 8, 2 }, { 12, 10 } })
    end,
    play = roll_on,
  },
  -- A guitar on the side-chain in the first pass; the second pass is recorded.
  riff = {
    wired = function(player)
      guitar(player)
      set(player, "Kick source", 1)
      set(player, "Listen", 2)
    end,
    play = function(recorder)
      recorder:rec_enable_control():set_value(0, PBD.GroupControlDisposition.NoGroup)
      session:request_roll(UI)
      wait(seconds / 2)
      session:request_stop(false, false, UI)
      ARDOUR.LuaAPI.usleep(1000000)
      recorder:rec_enable_control():set_value(1, PBD.GroupControlDisposition.NoGroup)
      session:request_locate(0, false, ARDOUR.LocateTransportDisposition.MustStop, UI)
      ARDOUR.LuaAPI.usleep(500000)
      session:maybe_enable_record()
      session:request_roll(UI)
      wait(seconds / 2 - 0.5)
    end,
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
  return player, recorder
end

-- A position as the program prints it, "quarters:ticks"; it counts 1920 ticks to the quarter note.
local function ticks(beats)
  local quarters, rest = tostring(beats):match("^(%d+):(%d+)$")
  return math.tointeger(quarters) * 1920 + math.tointeger(rest)
end

local function report(recorder)
  for region in recorder:playlist():region_list():iter() do
    local midi = region:to_midiregion()
    local from, length = region:start():ticks(), region:length():ticks()
    say("region", region:position():ticks(), from, length)
    for note in ARDOUR.LuaAPI.note_list(midi:model()):iter() do
      -- The rounds of a loop share one list.
      local at = ticks(note:time())
      if at >= from and at < from + length then
        say("note", at, ticks(note:length()), note:channel(), note:note(), note:velocity())
      end
    end
  end
end

local scenario = assert(scenarios[scenario_name], "no scenario " .. scenario_name)
session = assert(create_session(dir, "recording", RATE), "no session in " .. dir)
if scenario.prepare then scenario.prepare() end
local player, recorder = wire()
if scenario.wired then scenario.wired(player) end
session:maybe_enable_record()
scenario.play(recorder)
say("rolled", session:transport_sample())
session:request_stop(false, false, UI)
ARDOUR.LuaAPI.usleep(1500000) -- the butler thread writes the take
report(recorder)
session:save_state("", false, false, false, false, false)
player, recorder, session = nil, nil, nil
collectgarbage()
close_session()
say("done")
