-- What a reader who hears the document needs in every format, whatever a sheet brings: no heading without words,
-- no level of headings left out, and words for each picture and equation.

local function told(words, inline)
  if FORMAT ~= "typst" then return nil end
  local string = '"' .. words:gsub("%s+", " "):gsub('[\\"]', "\\%0") .. '"'
  local kind = inline.t == "Math" and "math.equation" or "image"
  return {
    pandoc.RawInline("typst", "#[#set " .. kind .. "(alt: " .. string .. ")\n"),
    inline,
    pandoc.RawInline("typst", "];"),
  }
end

local WORDLESS = { Image = true, Space = true, SoftBreak = true, LineBreak = true }
local function worded(inline) return not WORDLESS[inline.t] end

local level = 0

return {
  {
    Header = function(header)
      if not header.content:find_if(worded) then return pandoc.Para(header.content) end
      header.level = math.min(header.level, level + 1)
      level = header.level
      return header
    end,
  },
  {
    Image = function(image)
      local words = image.attributes.alt or pandoc.utils.stringify(image.caption)
      image.attributes.alt = words ~= "" and words or "Figure without a caption"
      return told(image.attributes.alt, image) or image
    end,
    Math = function(math) return told(math.text, math) end,
  },
}
