-- A guitar for `cargo xtask real-host`: while the transport rolls it strikes a low string on every
-- eighth but the last of each bar, at 120 BPM in 4/4.

ardour { ["type"] = "dsp", name = "Guitar that plays eighths", category = "Generator", license = "MIT", author = "Fourlimb" }

function dsp_ioconfig() return { { audio_in = 1, audio_out = 1 } } end

local rate, noise

function dsp_init(sample_rate)
  rate, noise = sample_rate, 1
end

function dsp_run(_, outs, n_samples)
  local out = outs[1]:array()
  local rolls, at = Session:transport_rolling(), Session:transport_sample()
  local eighth = math.floor(rate / 4)
  for i = 1, n_samples do
    local sample = 0
    local place = at + i - 1
    if rolls and place >= 0 then
      -- The last stroke of a bar rings on to its end.
      local stroke = math.min(place // eighth % 8, 6)
      local since = (place % (8 * eighth) - stroke * eighth) / rate
      noise = (noise * 16807) % 2147483647
      local pick = (noise / 1073741823.5 - 1) * math.exp(-since * 400)
      local string = 0
      for partial = 1, 8 do
        string = string + math.sin(2 * math.pi * 82.4 * partial * since) / partial
      end
      sample = 0.3 * (pick + string * math.exp(-since * 9))
    end
    out[i] = sample
  end
end
