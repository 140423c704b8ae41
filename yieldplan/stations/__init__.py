"""The stations room: runs along the boat divided, frames measured by a batten, blanks asked for."""
